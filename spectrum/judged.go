package spectrum

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// Judged says of each band of package spectrum whether it is judged: in range and not
// left out. Level is not tone, so its methods are what every curve, zone and distance is
// made level-free with. Curves are in dB with an entry for each band.
type Judged []bool

// Count is how many bands are judged.
func (j Judged) Count() int {
	n := 0
	for _, yes := range j {
		if yes {
			n++
		}
	}
	return n
}

// Centre takes the mean over the judged bands off a curve, in place.
func (j Judged) Centre(db []float64) {
	mean, n := 0.0, 0.0
	for b, yes := range j {
		if yes {
			mean += db[b]
			n++
		}
	}
	floats.AddConst(-mean/n, db)
}

// Distance returns the root mean square over the judged bands of a curve with its mean
// removed.
func (j Judged) Distance(db []float64) float64 {
	level := slices.Clone(db)
	j.Centre(level)
	return j.RMS(level)
}

// RMS returns the root mean square of a curve over the judged bands.
func (j Judged) RMS(db []float64) float64 {
	square := 0.0
	for b, yes := range j {
		if yes {
			square += db[b] * db[b]
		}
	}
	return math.Sqrt(square / float64(j.Count()))
}

// Mean returns the mean of a curve over the judged bands between two frequencies and over
// the others, NaN where there are none.
func (j Judged) Mean(db []float64, lowHz, highHz float64) (inside, rest float64) {
	var sum, n [2]float64
	for b, yes := range j {
		if !yes {
			continue
		}
		i := 1
		if hz := CentreHz(b); hz >= lowHz && hz <= highHz {
			i = 0
		}
		sum[i] += db[b]
		n[i]++
	}
	return sum[0] / n[0], sum[1] / n[1] // 0/0 is NaN
}

// MeanAt returns the mean of a curve over some bands, NaN if there are none.
func MeanAt(db []float64, bands []int) float64 {
	sum := 0.0
	for _, b := range bands {
		sum += db[b]
	}
	return sum / float64(len(bands)) // 0/0 is NaN
}

// Bands returns the judged bands between two frequencies.
func (j Judged) Bands(lowHz, highHz float64) []int {
	var bands []int
	for b, yes := range j {
		if hz := CentreHz(b); yes && hz >= lowHz && hz <= highHz {
			bands = append(bands, b)
		}
	}
	return bands
}
