package probe

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"toneplumb/biquad"
)

// Measured is a setting with the response measured through it.
type Measured struct {
	Setting
	Response *Response
	File     string // its name in output

	DB      []float64     // the response at Response.FreqHz minus that of the flat print
	LevelDB float64       // its overall level against the flat print
	Filter  biquad.Filter // the filter nearest to DB
	WorstDB float64       // the largest deviation from the cookbook's filter of the setting
	WorstHz float64

	// NotDialled reports whether the print is flat although it should not be; OtherWay, whether it
	// cuts where it should boost, or boosts where it should cut. Nothing is learnt from such
	// prints.
	NotDialled, OtherWay bool
}

// Equaliser is what was learnt about an equaliser.
type Equaliser struct {
	RateHz   int
	Measured []*Measured
	Terms    map[biquad.Shape]Convention // of shelves and bells that were printed
	RestDB   map[biquad.Shape]float64    // rms that the convention leaves
	Cuts     map[biquad.Shape][]int      // dB per octave of cuts that were printed

	// Oversampling is the multiple of RateHz at which the cookbook's filters have the responses'
	// shape near half the rate: 1, 2 or 4, or [Analogue].
	Oversampling float64
}

// Analogue is the [Equaliser.Oversampling] of responses that are not squeezed near half the rate. At
// this multiple of the rate the cookbook's filters equal its analogue ones.
const Analogue = 256

// overs are the oversamplings that are tried.
var overs = []float64{1, 2, 4, Analogue}

// judgedLowHz is the lowest frequency compared: below it the sweep fades in, and narrow settings
// ring for longer than the response measured. Our choice.
const judgedLowHz = 25

// Learn finds what the dials mean. All prints must have one sample rate. If a flat print is among
// them, its response is subtracted from the others. At least one other print is needed. Learn sorts
// all by number. Its error says what is wrong with the set.
func Learn(all []*Measured) (*Equaliser, error) {
	e := &Equaliser{Measured: all, Terms: map[biquad.Shape]Convention{}, RestDB: map[biquad.Shape]float64{}, Cuts: map[biquad.Shape][]int{}}
	slices.SortStableFunc(all, func(a, b *Measured) int { return a.Number - b.Number })
	var flat *Measured
	by := map[biquad.Shape][]*Measured{}
	for _, s := range all {
		if e.RateHz == 0 {
			e.RateHz = s.Response.RateHz
		}
		if s.Response.RateHz != e.RateHz {
			return nil, fmt.Errorf("%q has %d Hz and %q %d", all[0].File, e.RateHz, s.File, s.Response.RateHz)
		}
		if s.Flat {
			flat = s
		}
	}
	for _, s := range all {
		s.DB = slices.Clone(s.Response.DB)
		if flat != nil {
			floats.Sub(s.DB, flat.Response.DB)
		}
		if s.Flat {
			continue
		}
		s.compareSigns()
		if !s.NotDialled && !s.OtherWay {
			by[s.Shape] = append(by[s.Shape], s)
		}
	}
	if len(by) == 0 && len(all) > 1 {
		return nil, errors.New("every print is flat or goes the other way: look at the equaliser's dials, and print again")
	}
	if len(by) == 0 {
		return nil, errors.New("there is no print with the equaliser set to anything")
	}
	e.explain(by)
	for _, s := range all {
		switch {
		case s.NotDialled:
		case s.Flat:
			s.WorstDB, s.WorstHz = s.farthest(nil, 0)
		case s.Shape.IsCut():
			e.cut(s)
		default:
			e.setting(s)
		}
	}
	return e, nil
}

// explain chooses the oversampling and, for each shape, the convention that explain the prints
// best: the simplest of those that do about as well.
func (e *Equaliser) explain(by map[biquad.Shape][]*Measured) {
	least := math.Inf(1)
	for _, over := range overs {
		sum, count := 0.0, 0
		trial := map[biquad.Shape]Convention{}
		rests := map[biquad.Shape]float64{}
		for _, shape := range biquad.GainShapes {
			if len(by[shape]) == 0 {
				continue
			}
			trial[shape], rests[shape] = plainest(by[shape], over)
			sum += float64(len(by[shape])) * rests[shape] * rests[shape]
			count += len(by[shape])
		}
		if rest := math.Sqrt(sum / math.Max(1, float64(count))); rest < least/nearerShare-nearerDB || over == 1 {
			least, e.Oversampling, e.Terms, e.RestDB = rest, over, trial, rests
		}
	}
}

// curve returns the response from 25 Hz for refine, on an equaliser at a rate.
func (s *Measured) curve(rateHz float64) curve {
	from := slices.IndexFunc(s.Response.FreqHz, func(hz float64) bool { return hz >= judgedLowHz })
	return curve{freqHz: s.Response.FreqHz[from:], db: s.DB[from:], rateHz: rateHz}
}

// flatDB is the largest rms at which a print is taken for flat. Our choice: a quarter of the rms
// of 1 dB, the smallest gain asked for, with a bell of Q 2.
const flatDB = 0.05

func (s *Measured) compareSigns() {
	_, rest := s.curve(float64(s.Response.RateHz)).compare(nil)
	s.NotDialled = rest < flatDB
	s.OtherWay = !s.NotDialled && !s.Shape.IsCut() && s.refined(1).GainDB*s.GainDB < 0
}

// refined returns the filter that fits a print at an oversampling. It starts from the dials,
// whatever they mean.
func (s *Measured) refined(over float64) biquad.Filter {
	filters, _ := s.curve(over * float64(s.Response.RateHz)).refine([]biquad.Filter{s.asDialled()})
	return filters[0]
}

// asDialled returns a filter near the dials, whatever they mean.
func (s *Measured) asDialled() biquad.Filter {
	return biquad.Filter{Shape: s.Shape, FreqHz: min(s.FreqHz, 0.4*float64(s.Response.RateHz)), GainDB: s.GainDB, Q: 0.7}
}

// setting fits a filter to one response and compares the response with the setting.
func (e *Equaliser) setting(s *Measured) {
	rate := float64(e.RateHz)
	start, ok := e.Terms[s.Shape].Filter(s.Setting, rate)
	if ok = ok && !s.OtherWay; !ok {
		start = s.asDialled()
	}
	c := s.curve(e.Oversampling * rate)
	s.LevelDB, _ = c.compare([]biquad.Filter{start})
	filters, _ := c.refine([]biquad.Filter{start})
	s.Filter = filters[0]
	if ok {
		filters = []biquad.Filter{start}
	}
	s.WorstDB, s.WorstHz = s.farthest(filters, s.LevelDB)
}

// farthest returns the largest deviation of a response from the cookbook's filters at its rate,
// and where it is.
func (s *Measured) farthest(filters []biquad.Filter, levelDB float64) (db, hz float64) {
	c := s.curve(float64(s.Response.RateHz))
	if filters == nil {
		levelDB, _ = c.compare(nil)
	}
	model := biquad.ResponseDB(nil, filters, c.freqHz, c.rateHz)
	for i, m := range model {
		if d := c.db[i] - m - levelDB; m > -30 && math.Abs(d) > math.Abs(db) {
			db, hz = d, c.freqHz[i]
		}
	}
	return db, hz
}

// cut finds the steepness of a print of a cut: the Butterworth that fits best, down to 30 dB of
// attenuation.
func (e *Equaliser) cut(s *Measured) {
	least := math.Inf(1)
	for _, slope := range []int{6, 12, 18, 24, 36, 48} {
		f := biquad.Filter{Shape: s.Shape, FreqHz: s.FreqHz, CutDBPerOct: slope}
		c := s.curve(e.Oversampling * float64(e.RateHz))
		if f.Check(c.rateHz) != nil {
			continue
		}
		for i, model := range biquad.ResponseDB(nil, []biquad.Filter{f}, c.freqHz, c.rateHz) {
			weight := 1.0
			if model < -30 || c.db[i] < -40 {
				weight = 0
			}
			c.weight = append(c.weight, weight)
		}
		if level, rest := c.compare([]biquad.Filter{f}); rest < least {
			least, s.Filter, s.LevelDB = rest, f, level
			s.WorstDB, s.WorstHz = s.farthest([]biquad.Filter{f}, level)
		}
	}
	if s.Filter.CutDBPerOct > 0 && !slices.Contains(e.Cuts[s.Shape], s.Filter.CutDBPerOct) {
		e.Cuts[s.Shape] = append(e.Cuts[s.Shape], s.Filter.CutDBPerOct)
	}
}
