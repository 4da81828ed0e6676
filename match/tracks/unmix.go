package tracks

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"toneplumb/spectrum"
)

// sounds are spectra of single tracks at moments in which they play.
type sounds struct {
	spectra *mat.Dense // [third octave][sound], each sums to 1
	track   []int      // whose each sound is
}

const (
	// mostSounds bounds the moments that are used of each track. Tried on songs: 12, 24 and 60 do
	// alike.
	mostSounds = 24
	// playsDB is how far under its loud moments a track still plays. Tried on songs: with 8 and 12
	// fewer hints are found, with 22 too.
	playsDB = 15
	// unmixSteps is how often the shares are improved. Tried on songs: 80 do no better.
	unmixSteps = 30
)

// soundsOf returns the sounds of tracks, each as [third octave][moment], without moments from…to−1;
// a nil track has none.
func soundsOf(tracks []*mat.Dense, from, to int) (s sounds) {
	var columns [][]float64
	for k, t := range tracks {
		if t == nil {
			continue
		}
		var playing []int
		for m, yes := range plays(levelsOf(t)) {
			if yes && (m < from || m >= to) {
				playing = append(playing, m)
			}
		}
		for i := range min(mostSounds, len(playing)) {
			column := mat.Col(nil, playing[i*len(playing)/min(mostSounds, len(playing))], t)
			columns, s.track = append(columns, column), append(s.track, k)
		}
	}
	if len(columns) > 0 {
		s.spectra = mat.NewDense(len(columns[0]), len(columns), nil)
	}
	for i, c := range columns {
		floats.Scale(1/floats.Sum(c), c)
		s.spectra.SetCol(i, c)
	}
	return s
}

// unmix explains each moment of v, [third octave][moment], as a sum of the sounds, each at a level
// of its own. It returns the level of each track in dB, [track][moment], and the mean distance in dB
// between v and the sum. Without sounds nothing is explained.
//
// Method: the sounds' shares H ≥ 0 minimise the Itakura–Saito divergence between V and D·H, which
// counts a third octave alike at any level, by the multiplicative steps that never increase it:
//
//	H ← H·√( Dᵀ(V/(DH)²) / Dᵀ(1/(DH)) )
//
// Source: C. Févotte and J. Idier, Neural Computation 23 (2011), 2421–2456 (from memory).
func (s sounds) unmix(v *mat.Dense, tracks int) (levelDB [][]float64, apartDB float64) {
	thirds, moments := v.Dims()
	for range tracks {
		levelDB = append(levelDB, slices.Repeat([]float64{spectrum.PowerToDB(tiny)}, moments))
	}
	if len(s.track) == 0 {
		return levelDB, math.Inf(1)
	}
	floor := make([]float64, moments)
	for m := range floor {
		floor[m] = max(mat.Max(v.ColView(m))*spectrum.DBToPower(-deepDB), tiny)
	}
	v.Apply(func(_, m int, power float64) float64 { return max(power, floor[m]) }, v)
	h := mat.NewDense(len(s.track), moments, nil)
	h.Apply(func(_, m int, _ float64) float64 { return mat.Sum(v.ColView(m)) / float64(len(s.track)) }, h)
	var sum, power, up, down mat.Dense
	for range unmixSteps {
		sum.Mul(s.spectra, h)
		power.Apply(func(i, m int, x float64) float64 { return v.At(i, m) / max(x*x, tiny) }, &sum)
		up.Mul(s.spectra.T(), &power)
		power.Apply(func(_, _ int, x float64) float64 { return 1 / max(x, tiny) }, &sum)
		down.Mul(s.spectra.T(), &power)
		h.Apply(func(i, m int, x float64) float64 { return x * math.Sqrt(up.At(i, m)/down.At(i, m)) }, h)
	}
	sum.Mul(s.spectra, h)
	for i := range thirds {
		for m := range moments {
			apartDB += math.Abs(spectrum.PowerToDB(v.At(i, m)/max(sum.At(i, m), floor[m]))) / float64(thirds*moments)
		}
	}
	for k := range levelDB {
		for m := range moments {
			power := 0.0
			for i, track := range s.track {
				if track == k {
					power += h.At(i, m)
				}
			}
			levelDB[k][m] = spectrum.PowerToDB(max(power, tiny))
		}
	}
	return levelDB, apartDB
}

// levelsOf returns the level of each moment in dB, of all third octaves together.
func levelsOf(t *mat.Dense) (db []float64) {
	_, moments := t.Dims()
	for m := range moments {
		db = append(db, spectrum.PowerToDB(max(mat.Sum(t.ColView(m)), tiny)))
	}
	return db
}

// plays reports in which moments a track plays; never where it is silent.
func plays(levelDB []float64) []bool {
	const loud = 0.95 // quantile; our choice
	yes := make([]bool, len(levelDB))
	least := max(quantile(slices.Sorted(slices.Values(levelDB)), loud)-playsDB, spectrum.PowerToDB(tiny))
	for m, db := range levelDB {
		yes[m] = db > least
	}
	return yes
}
