package uncertainty

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"toneplumb/spectrum"
)

// ReferenceSpread returns half the 95 % band, per band in dB, for the mean of other songs like
// the references; nil for one reference. refDB holds the references' smoothed levels.
//
//	half = t(0.975, 5(R−1))·s/√R, s² = ½·(a band's own variance, smoothed over an octave) + ½·(the mean over bands)
//
// R is the number of references. Few songs say little about one band's variance, so it is
// pooled. Neighbouring bands make each song count about five times (measured: 92 to 97 %
// covered for R = 2 to 8).
func ReferenceSpread(refDB [][]float64, over Bands) []float64 {
	count := len(refDB)
	if count < 2 {
		return nil
	}
	levels := make([][]float64, count)
	for k, db := range refDB {
		levels[k] = slices.Clone(db)
		for b, left := range over.LeftOut {
			if left {
				levels[k][b] = 0
			}
		}
		over.Judged.Centre(levels[k])
	}
	variance := make([]float64, spectrum.BandCount)
	for b := range variance {
		variance[b] = stat.Variance(column(nil, levels, b), nil)
	}
	smoothed := spectrum.NewSmoother(over.LeftOut, 1).Smooth(nil, variance)
	mean, _ := over.Judged.Mean(variance, 0, math.Inf(1))
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: 5 * float64(count-1)}.Quantile(0.975)
	half := make([]float64, spectrum.BandCount)
	for b := range half {
		half[b] = t * math.Sqrt((smoothed[b]+mean)/2/float64(count))
	}
	return half
}
