package tracks

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"toneplumb/spectrum"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure"
)

const (
	// placeDB is how far the gain at which a track stands in the mix may be from its
	// own before it is believed. Our choice: notes that two tracks play in unison
	// pretend a decibel.
	placeDB = 2
	// lagLeast is how like a track and the mix must be at the same start, of what
	// they are at the best lag, not to be warned of a lag. Our choice.
	lagLeast = 0.8
	// lateLeast and lateMore: an absent track is said to start at another time
	// when its course in time and the mix's correlate by lateLeast there and by
	// lateMore more than at the same start. Our choice.
	lateLeast, lateMore = 0.4, 0.2
	// lateMostSec is the largest start that is looked for. Our choice.
	lateMostSec = 60
)

// rareCoherence is the coherence that chance hardly reaches over so many windows: ten
// times what it has by itself, half overlapped windows being worth two thirds of
// their number. As measure.InMix has it.
func rareCoherence(windows int) float64 { return 10 * 1.5 / float64(max(1, windows)) }

// place finds how a track stands in the mix: the gain g that makes g·T nearest to what
// of the mix runs as the track does, Re⟨T·M*⟩/⟨|T|²⟩, K-weighted over the third octaves
// in which the two run together at all.
func (s *session) place(from *measure.Track) *track {
	t := &track{Track: from, gain: 1, twinOf: -1, lagSec: math.NaN()}
	t.power, t.re, t.im = from.Power, from.Re, from.Im
	if loud := loudness.Integrated(from.StepPower); math.IsInf(loud, -1) {
		t.state = Silent
		return t
	}
	strongest := 0.0
	for _, p := range from.Power {
		strongest = max(strongest, p)
	}
	together, alone := 0.0, 0.0
	for third := range measure.Thirds {
		x, p, m, kx, kp := 0.0, 0.0, 0.0, 0.0, 0.0
		first, to := measure.ThirdBands(third)
		for b := first; b < to; b++ {
			x, p, m = x+from.Re[b], p+from.Power[b], m+s.MixPower[b]
			kx, kp = kx+s.k[b]*from.Re[b], kp+s.k[b]*from.Power[b]
		}
		const rangeDB = 50 // under its strongest band a track is its own leaks; as measure.InMix has it
		if p > strongest*spectrum.DBToPower(-rangeDB) && x*x > rareCoherence(s.Windows)*p*m {
			together, alone = together+kx, alone+kp
		}
	}
	if alone == 0 || together == 0 {
		t.state = Absent
		t.lagSec = s.lateBy(t)
		return t
	}
	if from.WithoutLag < lagLeast {
		t.lagSec = float64(from.LagFrames) / s.RateHz
	}
	if g := together / alone; g < 0 || math.Abs(spectrum.PowerToDB(g*g)) > placeDB {
		t.gain = g
		if g < 0 && math.Abs(spectrum.PowerToDB(g*g)) <= placeDB {
			t.gain = -1
		}
		t.power, t.re, t.im = times(from.Power, t.gain*t.gain), times(from.Re, t.gain), times(from.Im, t.gain)
	}
	return t
}

func times(x []float64, by float64) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = by * v
	}
	return y
}

// cell returns |T|² and Re(T·M*) of a second and a third octave as the track stands in
// the mix.
func (t *track) cell(second, third int) (power, re float64) {
	i := second*measure.Thirds + third
	return t.gain * t.gain * float64(t.RowPower[i]), t.gain * float64(t.RowRe[i])
}

// lateBy returns by how many seconds a track's course in time seems to run behind the
// mix's, NaN where none stands out: the correlation of levels per second, the mean over
// third octaves, each weighted by what the track would hold of the mix there.
func (s *session) lateBy(t *track) float64 {
	at := func(lag int) float64 {
		sum, n := 0.0, 0.0
		for third := range measure.Thirds {
			power := 0.0
			from, to := measure.ThirdBands(third)
			for _, p := range t.power[from:to] {
				power += p
			}
			weight := min(1, power/max(s.meanMix(third), tiny))
			if c, ok := s.courseAlike(t, third, lag); ok {
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
	if bestLag == 0 || best < lateLeast || best < at(0)+lateMore {
		return math.NaN()
	}
	return float64(bestLag)
}

// courseAlike is Pearson's correlation of a track's levels in a third octave, moved
// earlier by lag seconds, with the mix's; not ok where one of them hardly moves.
func (s *session) courseAlike(t *track, third, lag int) (c float64, ok bool) {
	const floorDB, least = 40, 1 // dB: under the loudest second; the least spread. Our choice
	strongest := [2]float64{}
	for row := range s.Rows {
		i := row*measure.Thirds + third
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
		x := level(t.RowPower[(row+lag)*measure.Thirds+third], strongest[0])
		y := level(s.RowMix[row*measure.Thirds+third], strongest[1])
		n, sx, sy, sxx, syy, sxy = n+1, sx+x, sy+y, sxx+x*x, syy+y*y, sxy+x*y
	}
	xx, yy := sxx/n-sx*sx/n/n, syy/n-sy*sy/n/n
	if n < 10 || min(xx, yy) < least {
		return 0, false
	}
	return (sxy/n - sx*sy/n/n) / math.Sqrt(xx*yy), true
}

// nameAll names the tracks by their files, with a number where two are called alike.
func (s *session) nameAll() {
	seen := map[string]int{}
	for _, t := range s.tracks {
		t.name = NameOf(t.Path)
		if seen[t.name]++; seen[t.name] > 1 {
			t.name = fmt.Sprintf("%s (%d)", t.name, seen[t.name])
		}
	}
}

// NameOf is a track's name: its file's, without folder and extension.
func NameOf(path string) string {
	base := filepath.Base(path)
	if name := strings.TrimSuffix(base, filepath.Ext(base)); name != "" {
		return name
	}
	return base
}

// findTwins marks tracks that are the same sound as one before, at any level.
func (s *session) findTwins() {
	for i, t := range s.tracks {
		if t.state == Silent {
			continue
		}
		for j, earlier := range s.tracks[:i] {
			if (earlier.state == Heard || earlier.state == Absent) && sameSound(t.Track, earlier.Track) {
				t.state, t.twinOf = Twin, j
				break
			}
		}
	}
}

// sameSound tells whether two tables are of one sound but for its level: every cell
// that is not near silence has one ratio.
func sameSound(a, b *measure.Track) bool {
	const toleranceDB, floorDB = 0.05, 50 // our choice: rounding to 16 bits stays below
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
