package probe

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"toneplumb/biquad"
	"toneplumb/match/document"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
)

// TransferFunction is the response between two bounces of a piece of music.
type TransferFunction struct {
	RateHz   int
	LagSec   float64 // how much later the second bounce starts
	Inverted bool
	Clipped  int // clipped places of the second bounce minus those of the first; at least 0

	// GotDB and AskedDB are the gains in the bands of package spectrum, level included. LeftOut is
	// why a band is not judged, "" if it is; GotDB is NaN where it is not.
	GotDB, AskedDB []float64
	LeftOut        []Cause

	Moves   []MoveGot
	TrimDB  float64 // level asked for
	LevelDB float64 // level measured

	WorstDB, WorstHz float64 // the largest deviation in judged bands, level removed

	// OtherDB is the level, against the second bounce, of what does not come from the first
	// through a filter: saturation, a compressor, noise, another sound.
	OtherDB float64

	// For stereo: BalanceDB is by how much the right became louder than the left, SidesDB the
	// largest difference between their responses apart from that, at SidesHz. 0 for mono.
	BalanceDB, SidesDB, SidesHz float64
}

// OffDB returns how far a band is from what was asked, level removed.
func (t *TransferFunction) OffDB(b int) float64 {
	return t.GotDB[b] - t.AskedDB[b] - (t.LevelDB - t.TrimDB)
}

// ErrOtherMusic means that two bounces do not hold the same music.
var ErrOtherMusic = errors.New("are not the same music")

// Limits of a comparison. Our choice.
const (
	windowSec    = 1.0  // at least: the ringing of an equaliser is short against it
	coherent     = 0.9  // median share of the second bounce that comes from the first
	surestDB     = 0.03 // largest standard deviation of a band that is judged
	weakestDB    = 70   // under the strongest band
	throughSmth  = 1.0 / 6
	leastWindows = 16
)

// NewTransferFunction compares two bounces with the settings s the person dialled. Each of before
// and after is called twice. The bounces need one sample rate. The response is the cross-spectrum
// over the spectrum of the first, both summed over Hann windows that overlap by half (periodic;
// P. D. Welch, 1967, and J. S. Bendat and A. G. Piersol, Random Data, chapter 6, from memory), so
// that sound that is not from the first, such as noise, averages out. The asked response is
// weighted by the same music, so that a steep response within a band is not misread. If the
// bounces do not match, the error wraps [ErrOtherMusic].
func NewTransferFunction(ctx context.Context, before, after func() (audio.Source, error), s *document.Settings) (*TransferFunction, error) {
	lag, inverted, rateHz, err := align(ctx, before, after)
	if err != nil {
		return nil, err
	}
	t := &TransferFunction{RateHz: rateHz, LagSec: float64(lag) / float64(rateHz), Inverted: inverted, TrimDB: s.TrimDB}
	for i, f := range s.Moves {
		if err := f.Check(float64(rateHz)); err != nil {
			return nil, finding.DoesNotFit.Of(fmt.Errorf("have a rate at which move %d cannot be set: %w", i+1, err))
		}
	}
	c, err := newCrossSpectrum(ctx, before, after, lag, rateHz)
	if err != nil {
		return nil, err
	}
	t.Clipped = max(0, c.clipped)
	if c.windows < leastWindows {
		return nil, finding.TooLittleMusic.Of(fmt.Errorf("%w long enough: %d windows of %.1f s overlap, %d are needed", ErrOtherMusic, c.windows, float64(c.n)/float64(rateHz), leastWindows))
	}
	if err := t.judge(c, s); err != nil {
		return nil, err
	}
	t.refine(s)
	t.compareSides(c)
	return t, nil
}

// compareSides finds the difference between the responses of left and right, over the judged bands
// in which both have music.
func (t *TransferFunction) compareSides(c *crossSpectrum) {
	if len(c.sides) < 2 {
		return
	}
	centres := spectrum.Centres()
	diff, out := make([]float64, len(centres)), make([]bool, len(centres))
	sum, n := 0.0, 0.0
	for b := range centres {
		from, to, _ := c.bins(b)
		l, r := c.sides[0].gain(from, to), c.sides[1].gain(from, to)
		if out[b] = t.LeftOut[b] != "" || !(l > 0 && r > 0); out[b] {
			continue
		}
		diff[b] = spectrum.PowerToDB(r / l)
		sum += diff[b]
		n++
	}
	if n == 0 {
		return
	}
	t.BalanceDB = sum / n
	diff = spectrum.NewSmoother(out, throughSmth).Smooth(nil, diff)
	for b, d := range diff {
		if d -= t.BalanceDB; !out[b] && math.Abs(d) > math.Abs(t.SidesDB) {
			t.SidesDB, t.SidesHz = d, centres[b]
		}
	}
}

// bins returns the first bin of a band and that after its last; narrow bands include a bin on
// either side. It is not ok if the band is outside the recording.
func (c *crossSpectrum) bins(band int) (from, to int, ok bool) {
	from = int(math.Ceil(spectrum.EdgeHz(band) / c.binHz))
	to = int(spectrum.EdgeHz(band+1)/c.binHz) + 1
	if to-from < 3 {
		from = int(math.Round(spectrum.CentreHz(band)/c.binHz)) - 1
		to = from + 3
	}
	return from, to, to <= len(c.xx) && spectrum.CentreHz(band) <= 0.45*c.binHz*float64(c.n)
}

// sums returns the power of the first and the second bounce in bins from … to−1, and Σ|Sxy|²/Sxx,
// what of the second comes from the first through a filter.
func (s *spectra) sums(from, to int) (xx, yy, through float64) {
	for k := from; k < min(to, len(s.xx)); k++ {
		xx += s.xx[k]
		yy += s.yy[k]
		if s.xx[k] > 0 {
			through += power(s.xy[k]) / s.xx[k]
		}
	}
	return xx, yy, through
}

// gain returns the power gain in bins from … to−1; NaN where there is no sound.
func (s *spectra) gain(from, to int) float64 {
	xx, _, through := s.sums(from, to)
	return through / xx
}

// judge computes the bands from the bins: measured, the transmitted power over that of the first
// bounce; asked, the same of the power that the settings would transmit, Σ Sxx·|H|².
func (t *TransferFunction) judge(c *crossSpectrum, s *document.Settings) error {
	if !c.sameMusic() {
		return ErrOtherMusic
	}
	t.OtherDB = c.otherDB()
	hz := make([]float64, len(c.xx))
	for k := range hz {
		hz[k] = c.binHz * float64(k)
	}
	rate := float64(t.RateHz)
	asked := biquad.ResponseDB(nil, s.Moves, hz[1:], rate)
	centres := spectrum.Centres()
	off, sure, level := make([]float64, len(centres)), make([]float64, len(centres)), make([]float64, len(centres))
	for b := range centres {
		from, to, ok := c.bins(b)
		if level[b] = math.Inf(-1); !ok {
			continue
		}
		xx, yy, through := c.sums(from, to)
		ask := 0.0
		for k := from; k < to; k++ {
			ask += c.xx[k] * spectrum.DBToPower(asked[k-1])
		}
		level[b] = spectrum.PowerToDB(xx / float64(to-from) * centres[b])
		off[b] = spectrum.PowerToDB(through/xx) - (spectrum.PowerToDB(ask/xx) + s.TrimDB)
		coherence, n := through/yy, float64(c.windows*(to-from))
		sure[b] = 20 / math.Ln10 * math.Sqrt(math.Max(0, 1-coherence)/(2*coherence*n))
	}
	out := t.leaveOut(level, sure)
	for b, left := range out {
		if left {
			off[b] = 0
		}
	}
	off = spectrum.NewSmoother(out, throughSmth).Smooth(nil, off)
	t.AskedDB = biquad.ResponseDB(nil, s.Moves, centres, rate)
	floats.AddConst(s.TrimDB, t.AskedDB)
	t.GotDB = floats.AddTo(make([]float64, len(centres)), t.AskedDB, off)
	for b, left := range out {
		if left {
			t.GotDB[b] = math.NaN()
		}
	}
	return nil
}

// sameMusic reports whether most of the second bounce comes from the first, by the median over
// bands.
func (c *crossSpectrum) sameMusic() bool {
	var share []float64
	for b := range spectrum.BandCount {
		from, to, ok := c.bins(b)
		if xx, yy, through := c.sums(from, to); ok && xx > 0 && yy > 0 {
			share = append(share, through/yy)
		}
	}
	slices.Sort(share)
	return len(share) > 0 && share[len(share)/2] >= coherent
}

func (c *crossSpectrum) otherDB() float64 {
	all, came := 0.0, 0.0
	for _, side := range c.sides { // each alone; together, a filter on one side would seem noise on the other
		_, yy, through := side.sums(0, c.n/2)
		all, came = all+yy, came+through
	}
	return spectrum.PowerToDB(math.Max(0, all-came) / all)
}

// leaveOut sets LeftOut by the level of the first bounce in each band and by the standard deviation
// of its gain, in dB. It also returns which bands are left out.
func (t *TransferFunction) leaveOut(level, sure []float64) (out []bool) {
	strongest := slices.Max(level)
	for b := range level {
		why := Cause("")
		switch {
		case math.IsInf(level[b], -1):
			why = OutsideRecording
		case level[b] < strongest-weakestDB:
			why = HardlyMusic
		case !(sure[b] <= surestDB):
			why = MuchElse
		}
		t.LeftOut, out = append(t.LeftOut, why), append(out, why != "")
	}
	return out
}

// refine fits the moves the music went through, starting at those asked for.
func (t *TransferFunction) refine(s *document.Settings) {
	c := curve{freqHz: spectrum.Centres(), db: slices.Clone(t.GotDB), rateHz: float64(t.RateHz), weight: make([]float64, len(t.GotDB))}
	var cuts, moves []biquad.Filter
	for _, f := range s.Moves {
		if f.Shape.IsCut() {
			cuts = append(cuts, f)
		} else {
			moves = append(moves, f)
		}
	}
	taken := biquad.ResponseDB(nil, cuts, c.freqHz, c.rateHz)
	for b, why := range t.LeftOut {
		if c.db[b] -= taken[b]; why == "" && taken[b] > -30 {
			c.weight[b] = 1
		} else {
			c.db[b] = 0
		}
	}
	got, level := c.refine(moves)
	t.LevelDB = level
	for _, f := range s.Moves {
		m := MoveGot{Asked: f, Got: f}
		if !f.Shape.IsCut() {
			m.Got, got = got[0], got[1:]
		}
		t.Moves = append(t.Moves, m)
	}
	for b, why := range t.LeftOut {
		if d := t.OffDB(b); why == "" && math.Abs(d) > math.Abs(t.WorstDB) {
			t.WorstDB, t.WorstHz = d, c.freqHz[b]
		}
	}
}
