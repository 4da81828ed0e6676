package probe

import (
	"fmt"
	"io"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/match/document"
)

// widthDials are the ranges of width dials that no description gives. Our choice: broad moves, as
// in [fit.Default], in other terms.
var widthDials = map[bool]map[fit.WidthTerm]fit.Dial{
	false: {
		fit.OwnWidth: fit.Default().Bell.Width, fit.Octaves: {Min: 0.7, Max: 4, Step: 0.1}, fit.Octaves3DB: {Min: 0.7, Max: 4, Step: 0.1},
	},
	true: {
		fit.OwnWidth: fit.Default().LowShelf.Width, fit.ShelfQ: {Min: 0.3, Max: 0.7, Step: 0.05}, fit.DBPerOct: {Min: 0.5, Max: 4, Step: 0.5},
	},
}

// limits returns what was learnt about a shape, with the ranges of base, which is a described
// equaliser or [fit.Default]. Its Count is 0 if nothing was learnt about the shape.
func (e *Equaliser) limits(shape biquad.Shape, base fit.Equaliser) fit.ShapeLimits {
	m, learnt := e.Terms[shape]
	if !learnt {
		return fit.ShapeLimits{}
	}
	a := base.Limits(shape)
	if a.Count == 0 {
		a = fit.Default().Limits(shape)
	}
	if m.FixedWidth > 0 {
		a.Width = fit.Dial{Values: []float64{m.FixedWidth}}
	} else if a.Terms.Width != m.Stated.Width {
		a.Width = widthDials[shape != biquad.Bell][m.Stated.Width]
	}
	a.Terms = m.Stated
	return a
}

// WriteDescription writes what was learnt as the description that --eq reads, with the ranges of
// base. It returns an error if [document.ParseEqualiser] would not read it.
func (e *Equaliser) WriteDescription(w io.Writer, name string, base fit.Equaliser) error {
	var all []document.Shape
	for _, shape := range []biquad.Shape{biquad.LowCut, biquad.LowShelf, biquad.Bell, biquad.HighShelf, biquad.HighCut} {
		s := document.Shape{Shape: shape, Limits: e.limits(shape, base), CutsDBPerOct: e.Cuts[shape]}
		if s.Limits.Count > 0 || len(s.CutsDBPerOct) > 0 {
			all = append(all, s)
		}
	}
	if err := document.WriteEqualiser(w, name, all); err != nil {
		return fmt.Errorf("what was learnt cannot be described: %w", err)
	}
	return nil
}
