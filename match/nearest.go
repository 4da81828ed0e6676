package match

import (
	"errors"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// RankedReference is how near one reference is to a mix. Every figure is 0 if both
// are alike.
type RankedReference struct {
	Reference *measure.Recording
	Index     int  // among the references given, from 0
	SameSong  bool // it is a copy of the mix's song, or the mix itself
	Itself    bool // it is the mix; set by MarkItself, since a profile's rows cannot identify a song

	// DistanceDB is the rms of the difference with its mean removed, over JudgedHz.
	DistanceDB float64
	JudgedHz   [2]float64

	// LowEndDB is the rms of the mean differences of the zones sub and lows, level
	// ignored. Bands that are left out count too, up to 20 dB each.
	LowEndDB float64

	// WidthDB is the rms difference of the mid-to-side ratios in dB, over the zones.
	WidthDB float64

	// RangeLU is the difference of the loudness ranges, without sign; 0 if one is unknown.
	RangeLU float64

	// ApartDB is the figure to rank by: DistanceDB + WidthDB/2 + RangeLU/3. See
	// testdata/README.md, "Decision 3: which references suit a mix".
	ApartDB float64

	Odd *OddReference // set if it makes most of the spread of the recommended ones; see MarkOdd
}

// MostRecommended is how many references to use together at most. Our choice: several separate a
// kind of music from one song's arrangement, and most folders hold a handful.
const MostRecommended = 3

const (
	// mostLowEndDB bounds the difference of a band of the low end. Our choice: beyond
	// it one side simply has nothing there.
	mostLowEndDB = 20
	// mostWidthDB bounds a mid-to-side ratio either way. Our choice: beyond it a zone
	// sounds mono, or all side.
	mostWidthDB = 20
)

// Recommended returns the indices in all of the [MostRecommended] nearest references that are
// not the mix's own song.
func Recommended(all []RankedReference) []int {
	var places []int
	for i, n := range all {
		if !n.SameSong && len(places) < MostRecommended {
			places = append(places, i)
		}
	}
	return places
}

// MarkItself marks the references that are the mix, so that [Recommended] skips them.
func MarkItself(all []RankedReference, isMix func(index int) bool) {
	for i := range all {
		if n := &all[i]; isMix(n.Index) {
			n.Itself, n.SameSong = true, true
		}
	}
}

// MarkOdd marks the [OddReference] among the recommended references, if there are three.
func MarkOdd(mix *measure.Recording, all []RankedReference, o CompareOptions) {
	var together []*measure.Recording
	places := Recommended(all)
	for _, i := range places {
		together = append(together, all[i].Reference)
	}
	if len(together) < 3 {
		return
	}
	c, pairs, _, err := subtract(mix, together, o)
	if err != nil {
		return // each can be compared, but all three share too few bands
	}
	c.compared = pairs
	if odd := c.oddOne(); odd != nil {
		all[places[odd.Index]].Odd = odd
	}
}

// Nearest returns the references ranked, the nearest to the mix first. It panics if
// [CompareOptions.Check] fails. If less than an octave of a reference can be judged, it returns
// an [*audio.Error] about that reference.
func Nearest(mix *measure.Recording, references []*measure.Recording, o CompareOptions) ([]RankedReference, error) {
	var all []RankedReference
	mixWidth := zoneWidths(mix)
	for i, ref := range references {
		c, _, _, err := subtract(mix, []*measure.Recording{ref}, o)
		if err != nil {
			var e *audio.Error
			if errors.As(err, &e) {
				return nil, &audio.Error{Kind: finding.NothingToCompare, Path: ref.Path, Problem: "has less than an octave that can be compared with the mix", Hint: "leave it out"}
			}
			return nil, err
		}
		n := RankedReference{Reference: ref, Index: i, SameSong: c.SameSong[0], DistanceDB: c.judged.Distance(c.DifferenceDB), LowEndDB: c.lowEnd()}
		n.JudgedHz[0], n.JudgedHz[1] = c.JudgedHz()
		n.WidthDB = c.widthApart(mixWidth, zoneWidths(ref))
		if mix.Valid() && ref.Valid() {
			n.RangeLU = math.Abs(mix.RangeLU - ref.RangeLU)
		}
		all = append(all, n)
	}
	return ranked(all), nil
}

// ranked sets ApartDB and sorts by it, but no reference comes before one that is less
// than half as far in tone. Chosen among figures that a rough mix shares with a record, by how
// often a song by the same maker comes first: see TestNearestOnSongs and testdata/README.md,
// "Decision 3: which references suit a mix".
func ranked(all []RankedReference) []RankedReference {
	for i := range all {
		n := &all[i]
		n.ApartDB = n.DistanceDB + n.WidthDB/2 + n.RangeLU/3
	}
	var sorted []RankedReference
	for len(all) > 0 {
		leastDB := math.Inf(1)
		for _, n := range all {
			leastDB = min(leastDB, n.DistanceDB)
		}
		next := -1
		for i, n := range all {
			if (n.DistanceDB < 2*leastDB || n.DistanceDB == leastDB) && (next < 0 || n.ApartDB < all[next].ApartDB) {
				next = i
			}
		}
		sorted = append(sorted, all[next])
		all = slices.Delete(all, next, next+1)
	}
	return sorted
}

// lowEnd returns the rms of the mean differences of the lowest two zones within
// Options.RangeHz, including bands that are left out.
func (c *Comparison) lowEnd() float64 {
	square, zones := 0.0, 0.0
	for _, z := range Zones()[:2] {
		sum, n := 0.0, 0.0
		for b, db := range c.rawDB {
			if hz := spectrum.CentreHz(b); hz >= max(z.LowHz, c.Options.RangeHz[0]) && hz <= min(z.HighHz, c.Options.RangeHz[1]) {
				sum += min(max(db, -mostLowEndDB), mostLowEndDB)
				n++
			}
		}
		if n > 0 {
			square += sum / n * sum / n
			zones++
		}
	}
	return math.Sqrt(square / max(1, zones))
}

// widthApart returns the rms difference of the mid-to-side ratios, over the zones that have
// a judged band.
func (c *Comparison) widthApart(mix, ref []float64) float64 {
	square, zones := 0.0, 0.0
	for i, z := range Zones() {
		if inside, _ := c.judged.Mean(c.DifferenceDB, z.LowHz, z.HighHz); math.IsNaN(inside) {
			continue
		}
		square += (mix[i] - ref[i]) * (mix[i] - ref[i])
		zones++
	}
	return math.Sqrt(square / max(1, zones))
}

// zoneWidths returns the mid-to-side ratio of each zone in dB, bounded by mostWidthDB; 0 for
// a zone that holds nothing.
func zoneWidths(r *measure.Recording) []float64 {
	stereo := r.Stereo()
	var widths []float64
	for _, z := range Zones() {
		db := stereo.MidOverSideDB(z.LowHz, z.HighHz)
		if math.IsNaN(db) {
			db = 0
		}
		widths = append(widths, min(max(db, -mostWidthDB), mostWidthDB))
	}
	return widths
}

// OddReference is the one of several references that makes most of their spread.
type OddReference struct {
	Index      int     // among the references, from 0
	DistanceDB float64 // rms, from the mean of the others
	OthersDB   float64 // among the others: the largest distance of one from the mean of the rest
}

func (OddReference) Code() string               { return "odd-reference" }
func (OddReference) Severity() finding.Severity { return finding.Caution }

// A reference is odd if it is at least oddFactor times as far off as any of the others
// would be without it, and at least as far as two songs by one maker usually are, leastOddDB.
// Our choice: this names one in 10 % of three or five songs by one maker. A stranger among them is
// named about as often, since songs by one maker differ as much. So the remark is about the
// spread; see TestOddOneOnSongs and testdata/README.md, "Decision 3: which references suit a mix".
const (
	oddFactor  = 2.5
	leastOddDB = 6
)

// oddOne returns the reference that makes most of the spread, nil if none does or there are
// fewer than three.
func (c *Comparison) oddOne() *OddReference {
	if len(c.compared) < 3 {
		return nil
	}
	var levels [][]float64
	for _, p := range c.compared {
		levels = append(levels, c.smooth(c.levels(p.reference)))
	}
	all := make([]int, len(levels))
	for i := range all {
		all[i] = i
	}
	odd, distanceDB := c.farthest(levels, all)
	var others []int
	for _, i := range all {
		if i != odd {
			others = append(others, i)
		}
	}
	_, othersDB := c.farthest(levels, others)
	if distanceDB < max(leastOddDB, oddFactor*othersDB) {
		return nil
	}
	for i, ref := range c.References { // the pairs are sorted differently
		if ref == c.compared[odd].of {
			return &OddReference{i, distanceDB, othersDB}
		}
	}
	return nil
}

// farthest returns the index, among some, of the curve farthest from the mean of the rest.
func (c *Comparison) farthest(curves [][]float64, some []int) (which int, distanceDB float64) {
	distanceDB = math.Inf(-1)
	for _, i := range some {
		rest := make([]float64, len(curves[i]))
		for _, k := range some {
			if k != i {
				addMean(rest, curves[k], len(some)-1)
			}
		}
		floats.Sub(rest, curves[i])
		if d := c.judged.Distance(rest); d > distanceDB {
			which, distanceDB = i, d
		}
	}
	return which, distanceDB
}
