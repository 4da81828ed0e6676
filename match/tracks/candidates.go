package tracks

import (
	"cmp"
	"math"
	"slices"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure/multitrack"
)

// linear estimates, from the slopes of the cells, which actions reduce the residuals most.
type linear struct {
	*search
	res       []float64
	weight    []float64 // Huber's, 0 where a cell is not used
	perMoment []float64 // Σ weight
	slope     []float64 // change of a cell in dB for 1 dB on a track
	mean      []float64 // weighted sum of the action being tried, per moment
}

func (s *search) linear(res []float64) *linear {
	l := &linear{s, res, make([]float64, len(res)), make([]float64, s.moments), make([]float64, len(res)), make([]float64, s.moments)}
	for i, r := range res {
		if !math.IsNaN(r) {
			l.weight[i] = huberWeight(r)
			l.perMoment[i%s.moments] += l.weight[i]
		}
	}
	return l
}

// setSlopes sets the slopes of a track, a group or, for −1, the master, given earlier actions.
func (l *linear) setSlopes(number int, done effects, power []float64) {
	for i := range l.slope {
		l.slope[i] = 1
	}
	if number < 0 {
		return
	}
	clear(l.slope)
	for _, track := range l.members(number) {
		for i, third := range l.thirds {
			d := complex128(0)
			if n := slices.Index(done.on, track); n >= 0 {
				d = done.delta[n][third]
			}
			h := 1 + d
			for m := range l.moments {
				at := i*l.moments + m
				if l.weight[at] > 0 {
					l.slope[at] += (real(h)*l.re[track][at] + real(h*complex(real(d), -imag(d)))*l.power[track][at]) / max(power[at], l.mix[at]*1e-3)
				}
			}
		}
	}
}

// best fits, within bounds in dB, the gain of an action that changes each third octave by
// shape(third) dB per dB of gain. Each moment's mean is removed. It also returns the drop in the
// sum of squares.
func (l *linear) best(shape func(third int) float64, least, most float64) (gain, drop float64) {
	clear(l.mean)
	for i, third := range l.thirds {
		h := shape(third)
		for m, w := range l.weight[i*l.moments:][:l.moments] {
			l.mean[m] += w * h * l.slope[i*l.moments+m]
		}
	}
	xx, xr := 0.0, 0.0
	for i, third := range l.thirds {
		h := shape(third)
		for m, w := range l.weight[i*l.moments:][:l.moments] {
			if w > 0 {
				at := i*l.moments + m
				x := h*l.slope[at] - l.mean[m]/l.perMoment[m]
				xx, xr = xx+w*x*x, xr+w*x*l.res[at]
			}
		}
	}
	if xx <= 1e-9*float64(l.count) {
		return 0, 0
	}
	gain = min(max(xr/xx, least), most)
	return gain, 2*gain*xr - gain*gain*xx
}

// scored is an action and its estimated drop in the residuals' sum of squares.
type scored struct {
	action
	drop float64
}

// candidates returns the actions that reduce the residuals left by others most, by the linear
// estimate: a few of each kind.
func (s *search) candidates(have []action, res []float64) []action {
	done, power, l := s.effects(have), make([]float64, len(s.mix)), s.linear(res)
	s.changed(done, power)
	filters := s.filterGrid()
	var all []scored
	for k := -1; k < len(s.tracks)+len(s.groups); k++ {
		if k >= 0 && k < len(s.tracks) && s.power[k] == nil || k >= len(s.tracks) && len(s.members(k)) < 2 {
			continue
		}
		l.setSlopes(k, done, power)
		if k >= 0 && !slices.ContainsFunc(have, func(b action) bool { return !b.isFilter && b.track == k }) {
			gain, drop := l.best(func(int) float64 { return 1 }, -mostFaderDB, mostFaderDB)
			all = append(all, scored{action{track: k, gainDB: gain}, drop})
		}
		for _, f := range filters {
			least, most := s.gainsOf(f.Shape)
			gain, drop := l.best(func(third int) float64 { return f.shape[third] }, least, most)
			a := action{track: k, filter: f.Filter, isFilter: true}
			a.filter.GainDB = gain
			all = append(all, scored{a, drop})
		}
	}
	slices.SortStableFunc(all, func(a, b scored) int { return cmp.Compare(b.drop, a.drop) })
	var out []action
	var found [kinds]int
	for _, a := range all {
		// Neighbours on the grid converge to the same setting.
		if slices.ContainsFunc(out, func(b action) bool {
			return a.isFilter && b.isFilter && b.track == a.track && b.filter.Shape == a.filter.Shape && math.Abs(math.Log2(b.filter.FreqHz/a.filter.FreqHz)) < 1
		}) {
			continue
		}
		if kind := s.kind(a.action); found[kind] < tried {
			found[kind]++
			out = append(out, a.action)
		}
	}
	return out
}

// gridFilter is a filter and its mean response per dB of gain in each third octave.
type gridFilter struct {
	biquad.Filter
	shape [multitrack.Thirds]float64
}

func (s *search) filterGrid() (all []gridFilter) {
	add := func(f biquad.Filter) {
		f.GainDB = 4 // shapes change little with gain
		g := gridFilter{Filter: f}
		db := biquad.ResponseDB(nil, []biquad.Filter{f}, spectrum.Centres(), s.RateHz)
		for _, third := range s.thirds {
			from, to := multitrack.ThirdBands(third)
			for b := from; b < to; b++ {
				g.shape[third] += db[b] / float64(to-from) / 4
			}
		}
		all = append(all, g)
	}
	for _, third := range s.thirds {
		hz := thirdHz(third)
		if hz > 0.4*s.RateHz {
			continue
		}
		for _, q := range []float64{0.5, 0.8, 1.4} {
			add(biquad.Filter{Shape: biquad.Bell, FreqHz: hz, Q: q})
		}
		if hz <= 1000 {
			add(biquad.Filter{Shape: biquad.LowShelf, FreqHz: hz, Q: math.Sqrt2 / 2})
		}
		if hz >= 1000 {
			add(biquad.Filter{Shape: biquad.HighShelf, FreqHz: hz, Q: math.Sqrt2 / 2})
		}
	}
	return all
}
