package plots

import (
	"cmp"
	"errors"
	"fmt"
	"math"
)

// Limits of size and resolution. Our choice: in smaller pictures text is illegible; 40
// million pixels are A2 paper at 300 pixels per inch and take about 400 MB to
// draw.
const (
	minWidthPx, minHeightPx = 600, 440
	maxSidePx               = 10000
	maxPixels               = 40e6
	minDPI, maxDPI          = 36, 2400
)

// withDefaults returns a copy with the default size and resolution where they are 0.
func (f *Figure) withDefaults() Figure {
	g := *f
	if g.WidthPx == 0 && g.HeightPx == 0 {
		g.WidthPx, g.HeightPx = DefaultWidthPx, DefaultHeightPx
	}
	g.DPI = cmp.Or(g.DPI, DefaultDPI)
	return g
}

// CheckSize returns an error, in words for the user, if the size or resolution is outside the
// limits given at [Figure].
func (f *Figure) CheckSize() error {
	g := f.withDefaults()
	f = &g
	if f.WidthPx < minWidthPx || f.HeightPx < minHeightPx || f.WidthPx > maxSidePx || f.HeightPx > maxSidePx {
		return fmt.Errorf("a picture of %d×%d pixels cannot be drawn: from %d×%d to %d×%d is possible",
			f.WidthPx, f.HeightPx, minWidthPx, minHeightPx, maxSidePx, maxSidePx)
	}
	if unit := f.DPI / DefaultDPI; (f.Paper || f.Steady) && !(float64(f.WidthPx) >= minWidthPx*unit && float64(f.HeightPx) >= minHeightPx*unit) {
		return fmt.Errorf("a page of %.1f×%.1f inches cannot be drawn: 4×3 are the least", float64(f.WidthPx)/f.DPI, float64(f.HeightPx)/f.DPI)
	}
	if f.WidthPx*f.HeightPx > maxPixels {
		return fmt.Errorf("a picture of %d×%d pixels cannot be drawn: %g million pixels are the most", f.WidthPx, f.HeightPx, maxPixels/1e6)
	}
	if !(f.DPI >= minDPI && f.DPI <= maxDPI) {
		return fmt.Errorf("a resolution of %g pixels per inch cannot be written: %d to %d is possible", f.DPI, minDPI, maxDPI)
	}
	return nil
}

// check returns an error for values that a user can choose, and panics for mistakes of the
// caller.
func (f *Figure) check() error {
	if err := f.CheckSize(); err != nil {
		return err
	}
	if len(f.Panels) == 0 {
		return errors.New("a figure needs a panel")
	}
	for i := range f.Panels {
		f.Panels[i].mustBeSound()
	}
	if len(f.Table.Rows) > 0 && len(f.Table.Header) == 0 {
		panic("plots: table without a header")
	}
	if n := len(f.Table.Under); n > 0 && n != len(f.Table.Rows) {
		panic("plots: sentences under the rows of a table differ from them in number")
	}
	f.Grid.mustBeSound()
	for _, row := range f.Table.Rows {
		if len(row) > len(f.Table.Header) {
			panic("plots: table row longer than its header")
		}
	}
	return nil
}

// mustBeSound panics if the panel breaks the rules of [Panel], [Curve] or [Interval].
func (p *Panel) mustBeSound() {
	if !(p.Share >= 0 && p.Share <= 1000) || !(p.MinSpanDB >= 0 && p.MinSpanDB <= limitDB) {
		panic("plots: share or smallest span of a panel out of range")
	}
	if p.YMinDB != 0 || p.YMaxDB != 0 {
		if !drawable(p.YMinDB) || !drawable(p.YMaxDB) || p.YMaxDB-p.YMinDB < 0.1 {
			panic("plots: the vertical axis of a panel needs two ends, at least 0.1 dB apart")
		}
	}
	for _, c := range p.Curves {
		mustRise(c.FreqHz, len(c.DB))
	}
	for _, iv := range p.Intervals {
		mustRise(iv.FreqHz, len(iv.LowDB))
		mustRise(iv.FreqHz, len(iv.HighDB))
	}
}

// mustRise panics unless freqHz has n values, above 0, finite and rising strictly.
func mustRise(freqHz []float64, n int) {
	if len(freqHz) != n {
		panic("plots: frequencies and decibels differ in number")
	}
	last := 0.0
	for _, hz := range freqHz {
		if !(hz > last) || math.IsInf(hz, 1) {
			panic("plots: frequencies must be above zero, finite and rising")
		}
		last = hz
	}
}
