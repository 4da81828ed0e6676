package match

import (
	"cmp"
	"errors"
	"math"
	"slices"

	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// Neighbour is how near one reference is to a mix. Each figure is in dB, 0 where both
// are alike.
type Neighbour struct {
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

	// Ranks are places among the references, from 1; equal figures share a place.
	DistanceRank, LowEndRank, WidthRank int
	MeanRank                            float64
}

// ToUse is how many references are best used together. Our choice: several tell a
// kind of music from one song's arrangement, and most folders hold a handful.
const ToUse = 3

const (
	// mostLowEndDB bounds the difference of a band of the low end. Our choice: beyond
	// it one side simply has nothing there.
	mostLowEndDB = 20
	// mostWidthDB bounds a mid-to-side ratio either way. Our choice: beyond it a zone
	// is mono, or all side, to any ear.
	mostWidthDB = 20
)

// Together returns the places of the ToUse nearest references that are other music
// than the mix.
func Together(all []Neighbour) []int {
	var places []int
	for i, n := range all {
		if !n.SameSong && len(places) < ToUse {
			places = append(places, i)
		}
	}
	return places
}

// MarkItself marks the references that are the mix, so that they are not used together.
func MarkItself(all []Neighbour, isMix func(index int) bool) {
	for i := range all {
		if n := &all[i]; isMix(n.Index) {
			n.Itself, n.SameSong = true, true
		}
	}
}

// Nearest ranks references by how near they are to a mix in distance, low end and
// width: by the mean of the three places, of two alike by distance, then in the order
// given. It panics like Compare, and refuses, with an *audio.Error about it, a
// reference of which less than an octave can be judged.
func Nearest(mix *measure.Recording, references []*measure.Recording, o CompareOptions) ([]Neighbour, error) {
	var all []Neighbour
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
		n := Neighbour{Reference: ref, Index: i, SameSong: c.SameSong[0], DistanceDB: c.spread(c.DifferenceDB), LowEndDB: c.lowEnd()}
		n.JudgedHz[0], n.JudgedHz[1] = c.JudgedHz()
		n.WidthDB = c.widthApart(mixWidth, zoneWidths(ref))
		all = append(all, n)
	}
	rank(all)
	return all, nil
}

// rank sets the places and sorts by them.
func rank(all []Neighbour) {
	place := func(figure func(n *Neighbour) float64, set func(n *Neighbour) *int) {
		for i := range all {
			*set(&all[i]) = 1
			for j := range all {
				if figure(&all[j]) < figure(&all[i]) {
					*set(&all[i])++
				}
			}
		}
	}
	place(func(n *Neighbour) float64 { return n.DistanceDB }, func(n *Neighbour) *int { return &n.DistanceRank })
	place(func(n *Neighbour) float64 { return n.LowEndDB }, func(n *Neighbour) *int { return &n.LowEndRank })
	place(func(n *Neighbour) float64 { return n.WidthDB }, func(n *Neighbour) *int { return &n.WidthRank })
	for i := range all {
		all[i].MeanRank = float64(all[i].DistanceRank+all[i].LowEndRank+all[i].WidthRank) / 3
	}
	slices.SortStableFunc(all, func(a, b Neighbour) int {
		return cmp.Or(cmp.Compare(a.MeanRank, b.MeanRank), cmp.Compare(a.DistanceDB, b.DistanceDB))
	})
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
		if inside, _ := c.judgedMean(c.DifferenceDB, z.LowHz, z.HighHz); math.IsNaN(inside) {
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
