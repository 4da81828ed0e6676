package plots

import (
	"cmp"
	"math"
	"slices"
	"strconv"
)

// freqTicks are the labelled frequencies, in the 1-2-5 steps usual in audio.
var freqTicks = []struct {
	hz    float64
	label string
}{
	{20, "20"}, {50, "50"}, {100, "100"}, {200, "200"}, {500, "500"},
	{1000, "1k"}, {2000, "2k"}, {5000, "5k"}, {10000, "10k"}, {20000, "20k"},
}

// smallTicks have a short tick and no label.
var smallTicks = []float64{
	30, 40, 60, 70, 80, 90, 300, 400, 600, 700, 800, 900,
	3000, 4000, 6000, 7000, 8000, 9000,
}

// tickSteps are the possible distances between numbers on a dB axis. Our choice: 3 and 6 are
// among them, since people who mix think in them.
var tickSteps = []float64{0.1, 0.2, 0.5, 1, 2, 3, 6, 10, 20, 40, 60, 100, 200, 500, 1000}

// dbAxis is the vertical axis of a panel.
type dbAxis struct {
	min, max, step float64
}

// ticks returns the multiples of the step that are on the axis.
func (a dbAxis) ticks() []float64 {
	var out []float64
	const slack = 1e-9 // so that rounding does not lose the last tick
	for k := math.Ceil(a.min/a.step - slack); k*a.step <= a.max+slack*a.step; k++ {
		out = append(out, k*a.step)
	}
	return out
}

// label returns the text of a tick, with a true minus sign, and with a plus if signed.
func (a dbAxis) label(db float64, signed bool) string {
	decimals := 0
	if a.step < 1 {
		decimals = 1
	}
	txt := strconv.FormatFloat(math.Abs(db), 'f', decimals, 64)
	switch {
	case db < -a.step/2:
		return "−" + txt
	case db > a.step/2 && signed:
		return "+" + txt
	}
	return txt
}

// axis returns the panel's axis, which has at most about maxTicks numbers and a height in
// layout units. An automatic axis leaves some space around the data and ends on half steps,
// unless it has to be cut because of LeastUnitsPerDB.
func (p *Panel) axis(maxTicks, height float64) dbAxis {
	lo, hi := p.YMinDB, p.YMaxDB
	automatic := lo == 0 && hi == 0
	if automatic {
		lo, hi = p.automaticRange()
		if most := height / p.LeastUnitsPerDB; p.LeastUnitsPerDB > 0 && hi-lo > most {
			low, high := p.cut(lo, hi, most)
			much := p.losesMuch(low, high)
			if automatic = much && hi-lo <= 2*most; !automatic {
				if much {
					low, high = p.cut(lo, hi, 2*most)
				}
				lo, hi = low, high
			}
		}
	}
	a := dbAxis{min: lo, max: hi, step: tickSteps[len(tickSteps)-1]}
	for i, step := range tickSteps {
		if (hi-lo)/step <= maxTicks {
			if a.step = step; len(a.ticks()) < 3 && i > 0 { // of an axis that does not begin at a multiple
				a.step = tickSteps[i-1]
			}
			break
		}
	}
	if automatic {
		half := a.step / 2
		a.min = half * math.Floor(lo/half)
		a.max = half * math.Ceil(hi/half)
	}
	return a
}

// cut narrows a range to most decibels. It keeps the curves that are Whole and 0 dB, with a
// little space, and divides the remaining decibels between above and below so that the fewest
// points of strong curves are lost; of ways as good as each other, it takes the one nearest to the
// proportion of the parts of the range above and below.
func (p *Panel) cut(lo, hi, most float64) (float64, float64) {
	const air, tries = 1, 48 // air in dB; our choice
	var whole Panel
	for _, c := range p.Curves {
		if c.Whole {
			whole.Curves = append(whole.Curves, c)
		}
	}
	low, high, any := whole.dataRange()
	if !any {
		low, high = 0, 0
	}
	low, high = max(min(low, 0)-air, lo), min(max(high, 0)+air, hi)
	rest, above, below := most-(high-low), hi-high, low-lo
	if rest <= 0 || above+below == 0 {
		return low, high
	}
	even := below / (above + below)
	best, least := 0.0, math.Inf(1)
	for k := range tries + 1 {
		share := float64(k) / tries
		lost, drawn := p.lost(low-rest*share, high+rest*(1-share))
		if cost := float64(lost) + math.Abs(share-even)/2; drawn > 0 && cost < least {
			best, least = share, cost
		}
	}
	if math.IsInf(least, 1) {
		best = even
	}
	return low - rest*best, high + rest*(1-best)
}

// losesMuch reports whether more than a tenth of the strong curves is farther than 3 dB outside a range. Our choice: arrows
// at the edge tell of single peaks, not of a curve that is mostly elsewhere.
func (p *Panel) losesMuch(low, high float64) bool {
	const most, farDB = 0.1, 3
	lost, drawn := p.lost(low-farDB, high+farDB)
	return float64(lost) > most*float64(drawn)
}

// lost counts the points of strong curves outside a range, and all of them. What is left out does
// not count, nor do curves that are Whole.
func (p *Panel) lost(low, high float64) (lost, drawn int) {
	for _, c := range p.Curves {
		if c.Style.Weight != Strong || c.Whole {
			continue
		}
		for i, db := range c.DB {
			hz := c.FreqHz[i]
			leftOut := slices.ContainsFunc(p.LeftOut, func(s Span) bool { return hz >= s.FromHz && hz <= s.ToHz })
			if !drawable(db) || hz < MinHz || hz > MaxHz || leftOut {
				continue
			}
			drawn++
			if db < low || db > high {
				lost++
			}
		}
	}
	return lost, drawn
}

// automaticRange returns the range of the data with space around it, at least MinSpanDB
// wide.
func (p *Panel) automaticRange() (lo, hi float64) {
	lo, hi, any := p.dataRange()
	if !any {
		lo, hi = 0, 0
	}
	if p.ZeroLine {
		lo, hi = min(lo, 0), max(hi, 0)
	}
	const air = 0.06 // of the data's span; our choice
	gap := air * (hi - lo)
	lo, hi = lo-gap, hi+gap
	if missing := cmp.Or(p.MinSpanDB, 6) - (hi - lo); missing > 0 {
		lo, hi = lo-missing/2, hi+missing/2
	}
	return lo, hi
}

// dataRange returns the smallest and largest dB that can be drawn, and whether
// there is any.
func (p *Panel) dataRange() (lo, hi float64, any bool) {
	lo, hi = math.Inf(1), math.Inf(-1)
	take := func(freqHz, db []float64) {
		for i, v := range db {
			if drawable(v) && freqHz[i] >= MinHz && freqHz[i] <= MaxHz {
				lo, hi = min(lo, v), max(hi, v)
			}
		}
	}
	for _, c := range p.Curves {
		take(c.FreqHz, c.DB)
	}
	for _, iv := range p.Intervals {
		take(iv.FreqHz, iv.LowDB)
		take(iv.FreqHz, iv.HighDB)
	}
	return lo, hi, lo <= hi
}

// limitDB is the largest magnitude of a level that is drawn; a value beyond it is treated as
// an error and leaves a gap. Our choice: no recording reaches it.
const limitDB = 1000.0

// drawable reports whether a level is drawn; NaN is not.
func drawable(db float64) bool { return math.Abs(db) <= limitDB }
