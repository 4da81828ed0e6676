package probe

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/match/document"
)

// dialJSON and shapeJSON are parts of the document that [document.ParseEqualiser] reads.
type dialJSON struct {
	Min    *float64  `json:"min,omitempty"`
	Max    *float64  `json:"max,omitempty"`
	Step   float64   `json:"step,omitempty"`
	Values []float64 `json:"values,omitempty"`
}

type shapeJSON struct {
	Shape   string    `json:"shape"`
	Count   int       `json:"count,omitempty"`
	FreqIs  string    `json:"freq_is,omitempty"`
	FreqHz  *dialJSON `json:"freq_hz,omitempty"`
	GainDB  *dialJSON `json:"gain_db,omitempty"`
	WidthIs string    `json:"width_is,omitempty"`
	Width   *dialJSON `json:"width,omitempty"`
	Cuts    []int     `json:"cut_db_per_oct,omitempty"`

	WidthLaw *document.WidthLaw `json:"width_law,omitempty"`
}

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

// Ability returns what was learnt about a shape, with the ranges of base, which is a described
// equaliser or [fit.Default]. Its Count is 0 if nothing was learnt about the shape.
func (e *Equaliser) Ability(shape biquad.Shape, base fit.Equaliser) fit.ShapeLimits {
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
	var all []shapeJSON
	add := func(shape biquad.Shape) {
		a := e.Ability(shape, base)
		if a.Count == 0 {
			return
		}
		freqIs, widthIs := document.DialWords(shape, a.Terms)
		if shape == biquad.Bell {
			freqIs = ""
		}
		all = append(all, shapeJSON{Shape: shape.String(), Count: a.Count, FreqIs: freqIs, WidthIs: widthIs,
			WidthLaw: document.LawOf(a.Terms), FreqHz: dialOf(a.FreqHz), GainDB: dialOf(a.GainDB), Width: dialOf(a.Width)})
	}
	cut := func(shape biquad.Shape) {
		if slopes := e.Cuts[shape]; len(slopes) > 0 {
			all = append(all, shapeJSON{Shape: shape.String(), Cuts: slopes})
		}
	}
	cut(biquad.LowCut)
	add(biquad.LowShelf)
	add(biquad.Bell)
	add(biquad.HighShelf)
	cut(biquad.HighCut)
	shapes := make([]string, len(all)) // a line each
	for i, shape := range all {
		line, err := json.Marshal(shape)
		if err != nil {
			return err
		}
		shapes[i] = "  " + string(line)
	}
	title, err := json.Marshal(name)
	if err != nil {
		return err
	}
	var out bytes.Buffer
	fmt.Fprintf(&out, "{\n \"version\": %d,\n \"name\": %s,\n \"shapes\": [\n%s\n ]\n}\n", 1, title, strings.Join(shapes, ",\n"))
	if _, err := document.ParseEqualiser(out.Bytes()); err != nil {
		return fmt.Errorf("what was learnt cannot be described: %w", err)
	}
	_, err = w.Write(out.Bytes())
	return err
}

func dialOf(d fit.Dial) *dialJSON {
	if len(d.Values) > 0 {
		return &dialJSON{Values: d.Values}
	}
	return &dialJSON{Min: &d.Min, Max: &d.Max, Step: d.Step}
}
