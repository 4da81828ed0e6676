package match

import (
	"errors"
	"math"
	"slices"

	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// RankedReference is how near one reference is to a mix. Each figure is in dB, 0 where both
// are alike.
type RankedReference struct {
	Reference *measure.Recording
	Index     int  // among the references given, from 0
	SameSong  bool // it is a copy of the mix's song, as the mix itself is
	Itself    bool // it is the mix; for MarkItself to say, since a profile's rows do not tell a song

	// DistanceDB is the rms of the difference with its mean removed, over JudgedHz.
	DistanceDB float64
	JudgedHz   [2]float64

	// LowEndDB is the rms of the mean differences of the zones sub and lows, level
	// ignored. What one side does not have counts too.
	LowEndDB float64

	// WidthDB is the rms over the zones of how far the mid-to-side ratios differ.
	WidthDB float64

	// RangeLU is by how much the loudness ranges differ; 0 where one is not known.
	RangeLU float64

	// ApartDB is what the rank is made of: the distance, half the width and a third of
	// the loudness range.
	ApartDB float64

	Odd *OddReference // it makes most of the spread of those to use; see MarkOdd
}

// MostRecommended is how many references are best used together. Our choice: several tell a
// kind of music from one song's arrangement, and most folders hold a handful.
const MostRecommended = 3

const (
	// mostLowEndDB bounds the difference of a band of the low end. Our choice: beyond
	// it one side simply has nothing there.
	mostLowEndDB = 20
	// mostWidthDB bounds a mid-to-side ratio either way. Our choice: beyond it a zone
	// is mono, or all side, to any ear.
	mostWidthDB = 20
)

// Recommended returns the places of the MostRecommended nearest references that are other music
// than the mix.
func Recommended(all []RankedReference) []int {
	var places []int
	for i, n := range all {
		if !n.SameSong && len(places) < MostRecommended {
			places = append(places, i)
		}
	}
	return places
}

// MarkItself marks the references that are the mix, so that they are not used together.
func MarkItself(all []RankedReference, isMix func(index int) bool) {
	for i := range all {
		if n := &all[i]; isMix(n.Index) {
			n.Itself, n.SameSong = true, true
		}
	}
}

// MarkOdd marks the reference that makes most of the spread of those to use together.
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
		return // each can be compared, but too little of all three
	}
	c.compared = pairs
	if odd := c.oddOne(); odd != nil {
		all[places[odd.Index]].Odd = odd
	}
}

// Nearest ranks references by how near they are to a mix. It panics like Compare, and
// refuses, with an *audio.Error about it, a reference of which less than an octave can
// be judged.
func Nearest(mix *measure.Recording, references []*measure.Recording, o CompareOptions) ([]RankedReference, error) {
	var all []RankedReference
	mixWidth := zoneWidths(mix)
	for i, ref := range references {
		c, _, _, err := subtract(mix, []*measure.Recording{ref}, o)
		if err != nil {
			var e *audio.Error
			if errors.As(err, &e) {
				return nil, &audio.Error{Path: ref.Path, Problem: "has less than an octave that can be compared with the mix", Hint: "leave it out"}
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

// ranked sets ApartDB and sorts by it, but puts no reference before one that is less
// than half as far in tone. Chosen among figures that a rough mix has in common with a
// record, by how often a song by the same maker comes first: see TestNearestOnSongs.
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

// lowEnd returns the rms of the mean differences of the lowest two zones, within the
// range, left out or not.
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

// widthApart returns the rms difference of the mid-to-side ratios over the zones in
// which something is judged.
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

// zoneWidths returns by how many dB mid stands above side in each zone, bounded; 0 in
// one that holds nothing.
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

// OddReference is that one of several references that makes most of their spread.
type OddReference struct {
	Index      int     // among the references, from 0
	DistanceDB float64 // rms, from the mean of the others
	OthersDB   float64 // how far the others lie from one another: the farthest from the mean of the rest
}

func (OddReference) Code() string               { return "odd-reference" }
func (OddReference) Severity() finding.Severity { return finding.Caution }

// A reference is the odd one where it lies this much farther off than any of the
// others would without it, and no nearer than two songs by one maker usually do. Our
// choice: so it is in 10 % of three or five songs by one maker. That is about as often as
// with a stranger among them, since songs by one maker differ as much: the remark is
// about the spread, see TestOddOneOnSongs.
const (
	oddFactor  = 2.5
	leastOddDB = 6
)

// oddOne returns the reference that makes most of the spread, nil if there is none or
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
	for i, ref := range c.References { // the pairs have an order of their own
		if ref == c.compared[odd].of {
			return &OddReference{i, distanceDB, othersDB}
		}
	}
	return nil
}

// farthest returns which of some curves is farthest from the mean of the rest.
func (c *Comparison) farthest(curves [][]float64, some []int) (which int, distanceDB float64) {
	distanceDB = math.Inf(-1)
	for _, i := range some {
		rest := make([]float64, len(curves[i]))
		for _, k := range some {
			if k != i {
				addMean(rest, curves[k], len(some)-1)
			}
		}
		for b, v := range curves[i] {
			rest[b] -= v
		}
		if d := c.judged.Distance(rest); d > distanceDB {
			which, distanceDB = i, d
		}
	}
	return which, distanceDB
}
