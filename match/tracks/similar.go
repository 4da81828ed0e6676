package tracks

import (
	"math"
	"slices"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/multitrack"
)

// similar compares a mix with other music of the same players: another half of the song, or a
// song recorded alike. As there is no same moment, each moment is compared with the most similar
// one on the other side, level removed, in both directions. A wrong fader makes all moments
// dissimilar in which its track sounds. The evidence for a fader is how much it reduces the mean
// of these distances.
type similar struct {
	*search
	floorDB []float64   // for each third octave
	ref     [][]float64 // [moment][third], dB
}

const (
	farDB  = 3.0 // beyond it a third octave is weighted linearly, not squared; our choice: a note that one side lacks
	gridDB = 1.0
	// tooUnlikeDB: if moments stay farther apart than this with the hints set, no hint is given.
	// Measured on songs: halves of one song with a hint leave 0.8 to 1.8 dB, two songs 2.5 dB or
	// more. README.md, "Method", has the ranges, testdata/faders.md the cases.
	tooUnlikeDB = 2.2
	// mostNearer is the largest share by which faders can reduce the distance: if more is needed,
	// none are searched. Measured on the same songs: 0.32.
	mostNearer = 0.4
	// leastDrop is the share of the distance that each fader must remove. Measured: 0.01 or less
	// where nothing is wrong.
	leastDrop = 0.03
	// uncertainDB is added, in quadrature, to half a hint's range, whatever the blocks give: the
	// most similar moment is not the same moment. Measured on the same songs.
	uncertainDB = 1.5
	mostHints   = 3
)

// similarTo collects the moments of the mix and of other music.
func (s *session) similarTo(refs []*measure.Recording) *similar {
	x := &similar{search: &search{s, s.cellsOf(nil, 0)}}
	for _, third := range x.thirds {
		x.floorDB = append(x.floorDB, spectrum.PowerToDB(max(s.meanMix(third)*spectrum.DBToPower(-weakDB), tiny)))
	}
	for _, ref := range refs {
		gate := ref.GateWeights()
		var rows []int
		for row, w := range gate {
			if w > 0.5 {
				rows = append(rows, row)
			}
		}
		each := (len(rows)*len(refs) + mostMoments - 1) / mostMoments
		each = max(each, 1)
		for at := 0; at+each <= len(rows); at += each {
			v := make([]float64, len(x.thirds))
			for i, third := range x.thirds {
				for _, row := range rows[at : at+each] {
					v[i] += thirdOf(ref, row, third)
				}
				v[i] = spectrum.PowerToDB(max(v[i]/float64(each), tiny))
			}
			x.ref = append(x.ref, v)
		}
	}
	x.level(x.ref)
	return x
}

// level clamps each third octave at its floor and removes each moment's mean.
func (x *similar) level(all [][]float64) {
	for _, v := range all {
		mean := 0.0
		for i := range v {
			v[i] = max(v[i], x.floorDB[i])
			mean += v[i] / float64(len(v))
		}
		for i := range v {
			v[i] -= mean
		}
	}
}

// distances returns the distance in dB of each moment of the mix, with actions, to each of the
// reference.
func (x *similar) distances(actions []action) [][]float64 {
	power := make([]float64, len(x.mix))
	x.changed(x.effects(actions), power)
	mix := make([][]float64, x.moments)
	master := make([]float64, multitrack.Thirds)
	if m := x.effects(actions).master; m != nil {
		master = m
	}
	for m := range mix {
		mix[m] = make([]float64, len(x.thirds))
		for i := range x.thirds {
			at := i*x.moments + m
			mix[m][i] = spectrum.PowerToDB(max(power[at], x.mix[at]*1e-3, tiny)/float64(x.each)) + master[x.thirds[i]]
		}
	}
	x.level(mix)
	all := make([][]float64, len(mix))
	for m, v := range mix {
		all[m] = make([]float64, len(x.ref))
		for j, w := range x.ref {
			sum := 0.0
			for i := range v {
				if d := math.Abs(v[i] - w[i]); d <= farDB {
					sum += d * d
				} else {
					sum += farDB * (2*d - farDB)
				}
			}
			all[m][j] = math.Sqrt(sum / float64(len(v)))
		}
	}
	return all
}

// unlike returns the mean distance in dB of each moment to the most similar one on the other side,
// averaged over both directions, without the moments of block k of n on either side; all for k < 0.
func unlike(d [][]float64, k, n int) float64 {
	rows, columns := len(d), len(d[0])
	out := func(i, of int) bool { return k >= 0 && i*n/of == k }
	nearest := make([]float64, columns)
	for j := range nearest {
		nearest[j] = math.Inf(1)
	}
	one, ones := 0.0, 0.0
	for m, row := range d {
		if out(m, rows) {
			continue
		}
		least := math.Inf(1)
		for j, v := range row {
			if out(j, columns) {
				continue
			}
			least, nearest[j] = min(least, v), min(nearest[j], v)
		}
		one, ones = one+least, ones+1
	}
	two, twos := 0.0, 0.0
	for j, v := range nearest {
		if !out(j, columns) {
			two, twos = two+v, twos+1
		}
	}
	return (one/ones + two/twos) / 2
}

// profile is the distance left by one more fader over a grid of gains, for all moments and without
// each block.
type profile struct {
	gains []float64
	left  [][]float64 // [0: all moments; k: without block k−1][gain]
}

const similarBlocks = 8

func (x *similar) profile(have []action, track int) profile {
	var p profile
	p.left = make([][]float64, similarBlocks+1)
	for g := -mostFaderDB; g <= mostFaderDB; g += gridDB {
		d := x.distances(append(slices.Clone(have), action{track: track, gainDB: g}))
		p.gains = append(p.gains, g)
		for k := range p.left {
			p.left[k] = append(p.left[k], unlike(d, k-1, similarBlocks))
		}
	}
	return p
}

// best returns the gain that leaves least, interpolated between grid points by a parabola.
func (p profile) best(k int) (gainDB, left float64) {
	y := p.left[k]
	at := 0
	for i, v := range y {
		if v < y[at] {
			at = i
		}
	}
	if at == 0 || at == len(y)-1 {
		return p.gains[at], y[at]
	}
	a, b, c := y[at-1], y[at], y[at+1]
	if bend := a - 2*b + c; bend > 0 {
		return p.gains[at] + gridDB*(a-c)/2/bend, b - (a-c)*(a-c)/8/bend
	}
	return p.gains[at], b
}

// sd returns the jackknife's standard deviation of the best gain, in dB.
func (p profile) sd() float64 {
	n := float64(len(p.left) - 1)
	var all []float64
	mean := 0.0
	for k := 1; k < len(p.left); k++ {
		g, _ := p.best(k)
		all = append(all, g)
		mean += g / n
	}
	sum := 0.0
	for _, g := range all {
		sum += (g - mean) * (g - mean)
	}
	return math.Sqrt(sum * (n - 1) / n)
}

// hint is a fader supported by other music.
type hint struct {
	action
	sdDB, drop float64 // drop: share of the first distance it removes
}

// onMaster returns the distance left by the best of a few filters on the master beside actions. If
// that is less than with one more fader, the difference is not balance.
func (x *similar) onMaster(have []action) float64 {
	least := math.Inf(1)
	try := func(f biquad.Filter) {
		for _, g := range []float64{-5, -2.5, 2.5, 5} { // our choice: coarse, for a comparison
			f.GainDB = g
			least = min(least, unlike(x.distances(append(slices.Clone(have), action{track: -1, filter: f, isFilter: true})), -1, similarBlocks))
		}
	}
	for hz := 63.0; hz < min(13000, 0.4*x.RateHz); hz *= 2 {
		try(biquad.Filter{Shape: biquad.Bell, FreqHz: hz, Q: 0.8})
		if hz < 500 {
			try(biquad.Filter{Shape: biquad.LowShelf, FreqHz: hz, Q: math.Sqrt2 / 2})
		} else if hz > 1000 {
			try(biquad.Filter{Shape: biquad.HighShelf, FreqHz: hz, Q: math.Sqrt2 / 2})
		}
	}
	return least
}

// hints returns the faders that reduce the distance most, one after another, and the distance in
// dB that remains.
func (x *similar) hints() (all []hint, left float64) {
	var have []action
	unlikeDB := unlike(x.distances(nil), -1, similarBlocks)
	left = unlikeDB
	if left*(1-mostNearer) > tooUnlikeDB {
		return nil, left
	}
	for len(have) < mostHints {
		var best hint
		bestLeft := left
		for k := range x.tracks {
			if x.power[k] == nil || slices.ContainsFunc(have, func(a action) bool { return a.track == k }) {
				continue
			}
			p := x.profile(have, k)
			if g, v := p.best(0); v < bestLeft {
				best, bestLeft = hint{action{track: k, gainDB: g}, p.sd(), (left - v) / unlikeDB}, v
			}
		}
		if best.drop < leastDrop || x.onMaster(have) < bestLeft {
			break
		}
		all, have, left = append(all, best), append(have, best.action), bestLeft
		for i := range all { // refit the others
			if len(all) == 1 {
				break
			}
			others := slices.Delete(slices.Clone(have), i, i+1)
			p := x.profile(others, all[i].track)
			g, v := p.best(0)
			all[i].gainDB, all[i].sdDB, left = g, p.sd(), v
			all[i].drop = (unlike(x.distances(others), -1, similarBlocks) - v) / unlikeDB
			have[i] = all[i].action
		}
	}
	return all, left
}
