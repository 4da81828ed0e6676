package tracks

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"toneplumb/match"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/multitrack"
)

// delaySec returns by how many seconds a track's levels run behind the mix's, NaN if no delay
// stands out. It correlates levels per second, averaged over third octaves, each weighted by the
// share of the mix that the track would have there.
func (s *session) delaySec(t *track) float64 {
	at := func(lag int) float64 {
		sum, n := 0.0, 0.0
		for third := range multitrack.Thirds {
			from, to := multitrack.ThirdBands(third)
			weight := min(1, floats.Sum(t.power[from:to])/max(s.meanMix(third), tiny))
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
	// Chance correlates n seconds by about 1/√n, and the largest of many lags by more. Our choice: 3/√n.
	chance := 3 / math.Sqrt(float64(s.Rows-max(bestLag, -bestLag)))
	if bestLag == 0 || best < max(lateLeast, chance) || best < at(0)+lateMore {
		return math.NaN()
	}
	return float64(bestLag)
}

// levelCorrelation returns Pearson's correlation of a track's levels in a third octave, moved
// earlier by lag seconds, with the mix's; not ok if either hardly varies.
func (s *session) levelCorrelation(t *track, third, lag int) (c float64, ok bool) {
	const floorDB, least = 40, 1 // floor in dB under the loudest second; least variance in dB². Our choice
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
	var x, y []float64
	for row := max(0, -lag); row < min(s.Rows, s.Rows-lag); row++ {
		x = append(x, level(t.RowPower[(row+lag)*multitrack.Thirds+third], strongest[0]))
		y = append(y, level(s.RowMix[row*multitrack.Thirds+third], strongest[1]))
	}
	if len(x) < leastSeconds || min(stat.PopVariance(x, nil), stat.PopVariance(y, nil)) < least {
		return 0, false
	}
	return stat.Correlation(x, y, nil), true
}

// nameAll names the tracks after their files or, if plain, by number.
func (s *session) nameAll(plain bool) {
	names, files := match.Naming{Plain: plain}, match.Naming{Plain: plain}
	for i, t := range s.tracks {
		number := fmt.Sprintf("track %d", i+1)
		t.name = names.Name(measure.Printable(NameOf(t.Path)), number)
		t.file = files.Name(measure.NameOf(t.Path), number)
	}
}

// NameOf returns the name of a track's file without folder and extension.
func NameOf(path string) string {
	base := filepath.Base(path)
	if name := strings.TrimSuffix(base, filepath.Ext(base)); name != "" {
		return name
	}
	return base
}

// findDuplicates marks tracks that are the same sound as an earlier one, at any level.
func (s *session) findDuplicates() {
	for i, t := range s.tracks {
		if t.state == Silent {
			continue
		}
		for j, earlier := range s.tracks[:i] {
			if (earlier.state == Heard || earlier.state == Absent) && sameSound(t.Track, earlier.Track) {
				t.state, t.duplicateOf = Duplicate, j
				break
			}
		}
	}
}

// sameSound reports whether two tables are of one sound at different levels: all cells that are
// not near silence have the same ratio.
func sameSound(a, b *multitrack.Track) bool {
	const toleranceDB, floorDB = 0.05, 50 // our choice: rounding to 16 bits is smaller
	strongest, at := float32(0), 0
	for i, p := range a.RowPower {
		if p > strongest {
			strongest, at = p, i
		}
	}
	if b.RowPower[at] == 0 {
		return false
	}
	ratio := spectrum.PowerToDB(float64(strongest) / float64(b.RowPower[at]))
	for i, p := range a.RowPower {
		if float64(p) < float64(strongest)*spectrum.DBToPower(-floorDB) {
			continue
		}
		if d := spectrum.PowerToDB(float64(p)/float64(b.RowPower[i])) - ratio; !(math.Abs(d) < toleranceDB) {
			return false
		}
	}
	return true
}
