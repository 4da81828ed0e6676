package tracks

import (
	"math"

	"toneplumb/spectrum"
	"toneplumb/spectrum/measure/multitrack"
)

// delaySec returns by how many seconds a track's levels seem to run behind the
// mix's, NaN where none stands out: the correlation of levels per second, the mean over
// third octaves, each weighted by what the track would hold of the mix there.
func (s *session) delaySec(t *track) float64 {
	at := func(lag int) float64 {
		sum, n := 0.0, 0.0
		for third := range multitrack.Thirds {
			power := 0.0
			from, to := multitrack.ThirdBands(third)
			for _, p := range t.power[from:to] {
				power += p
			}
			weight := min(1, power/max(s.meanMix(third), tiny))
			if c, ok := s.levelCorrelation(t, third, lag); ok {
				sum, n = sum+weight*c, n+weight
			}
		}
		return sum / max(n, tiny)
	}
	most := min(lateMostSec, s.Rows/2)
	best, bestLag := math.Inf(-1), 0
	for lag := -most; lag <= most; lag++ {
		if c := at(lag); c > best {
			best, bestLag = c, lag
		}
	}
	// Chance alone correlates n seconds by 1/√n; the largest of many lags by more. Our choice: 3/√n.
	chance := 3 / math.Sqrt(float64(s.Rows-max(bestLag, -bestLag)))
	if bestLag == 0 || best < max(lateLeast, chance) || best < at(0)+lateMore {
		return math.NaN()
	}
	return float64(bestLag)
}

// levelCorrelation is Pearson's correlation of a track's levels in a third octave, moved
// earlier by lag seconds, with the mix's; not ok where one of them hardly moves.
func (s *session) levelCorrelation(t *track, third, lag int) (c float64, ok bool) {
	const floorDB, least = 40, 1 // dB: under the loudest second; the least spread. Our choice
	strongest := [2]float64{}
	for row := range s.Rows {
		i := row*multitrack.Thirds + third
		strongest[0], strongest[1] = max(strongest[0], float64(t.RowPower[i])), max(strongest[1], float64(s.RowMix[i]))
	}
	if strongest[0] < tiny || strongest[1] < tiny {
		return 0, false
	}
	level := func(p float32, of float64) float64 {
		return spectrum.PowerToDB(max(float64(p)/of, spectrum.DBToPower(-floorDB)))
	}
	n, sx, sy, sxx, syy, sxy := 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
	for row := max(0, -lag); row < min(s.Rows, s.Rows-lag); row++ {
		x := level(t.RowPower[(row+lag)*multitrack.Thirds+third], strongest[0])
		y := level(s.RowMix[row*multitrack.Thirds+third], strongest[1])
		n, sx, sy, sxx, syy, sxy = n+1, sx+x, sy+y, sxx+x*x, syy+y*y, sxy+x*y
	}
	xx, yy := sxx/n-sx*sx/n/n, syy/n-sy*sy/n/n
	if n < 10 || min(xx, yy) < least {
		return 0, false
	}
	return (sxy/n - sx*sy/n/n) / math.Sqrt(xx*yy), true
}
