package tracks

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"toneplumb/biquad"
	"toneplumb/spectrum"
)

// similar judges hints beside another part of a song. As there is no same moment, each moment is
// compared with the most similar one on the other side, level removed, in both directions. A wrong
// fader makes all moments dissimilar in which its track sounds.
type similar struct {
	*search
	floorDB []float64   // for each third octave
	ref     [][]float64 // [moment][third], dB
}

// farDB is the distance beyond which a third octave is weighted linearly, not squared. Our choice: a
// note that one side lacks.
const farDB = 3.0

// similarTo collects the moments of another part of the song, from cells of so many moments.
func (x *otherPart) similarTo(cells []float64, moments int) *similar {
	y := &similar{search: x.search, ref: make([][]float64, moments)}
	for i := range x.thirds {
		y.floorDB = append(y.floorDB, spectrum.PowerToDB(max(x.white[i]*spectrum.DBToPower(-weakDB), tiny)))
		for m := range moments {
			y.ref[m] = append(y.ref[m], spectrum.PowerToDB(max(cells[i*moments+m], tiny)))
		}
	}
	y.level(y.ref)
	return y
}

// level clamps each third octave at its floor and removes each moment's mean.
func (y *similar) level(all [][]float64) {
	for _, v := range all {
		for i := range v {
			v[i] = max(v[i], y.floorDB[i])
		}
		floats.AddConst(-stat.Mean(v, nil), v)
	}
}

// left returns the mean distance in dB of each moment to the most similar one on the other side, with
// actions on the mix, averaged over both directions.
func (y *similar) left(actions []action) float64 {
	e, power := y.effects(actions), make([]float64, len(y.mix))
	y.changed(e, power)
	mix := make([][]float64, y.moments)
	for m := range mix {
		for i, third := range y.thirds {
			at := i*y.moments + m
			db := spectrum.PowerToDB(max(power[at], y.mix[at]*1e-3, tiny) / float64(y.each))
			if e.master != nil {
				db += e.master[third]
			}
			mix[m] = append(mix[m], db)
		}
	}
	y.level(mix)
	toRef, toMix := slices.Repeat([]float64{math.Inf(1)}, len(mix)), slices.Repeat([]float64{math.Inf(1)}, len(y.ref))
	for m, v := range mix {
		for j, w := range y.ref {
			d := apartDB(v, w)
			toRef[m], toMix[j] = min(toRef[m], d), min(toMix[j], d)
		}
	}
	return (stat.Mean(toRef, nil) + stat.Mean(toMix, nil)) / 2
}

// apartDB returns the root mean square distance of two moments, linear beyond farDB.
func apartDB(v, w []float64) float64 {
	sum := 0.0
	for i := range v {
		if d := math.Abs(v[i] - w[i]); d <= farDB {
			sum += d * d
		} else {
			sum += farDB * (2*d - farDB)
		}
	}
	return math.Sqrt(sum / float64(len(v)))
}

// leftByMaster returns the distance left by the best of a few filters on the master.
func (y *similar) leftByMaster() float64 {
	least := math.Inf(1)
	try := func(f biquad.Filter) {
		for _, g := range []float64{-5, -2.5, 2.5, 5} { // our choice: coarse, for a comparison
			f.GainDB = g
			least = min(least, y.left([]action{{track: -1, filter: f, isFilter: true}}))
		}
	}
	for hz := 63.0; hz < min(13000, 0.4*y.RateHz); hz *= 2 {
		try(biquad.Filter{Shape: biquad.Bell, FreqHz: hz, Q: 0.8})
		if hz < 500 {
			try(biquad.Filter{Shape: biquad.LowShelf, FreqHz: hz, Q: math.Sqrt2 / 2})
		} else if hz > 1000 {
			try(biquad.Filter{Shape: biquad.HighShelf, FreqHz: hz, Q: math.Sqrt2 / 2})
		}
	}
	return least
}
