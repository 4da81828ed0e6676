package document

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

const equaliserVersion = 1 // the version of the document that ParseEqualiser reads

// equaliserDocument describes what an equaliser can do. match/artefact/README.md explains the
// words for its dials.
type equaliserDocument struct {
	Version int             `json:"version"`
	Name    string          `json:"name"`
	Shapes  []shapeDocument `json:"shapes"`
}

type shapeDocument struct {
	Shape   string        `json:"shape"`
	Count   *int          `json:"count,omitempty"`   // default 1
	FreqIs  string        `json:"freq_is,omitempty"` // "half-gain" (default) or "corner", of shelves
	FreqHz  *dialDocument `json:"freq_hz,omitempty"` // dials that are not given are as on fit.Default
	GainDB  *dialDocument `json:"gain_db,omitempty"`
	WidthIs string        `json:"width_is,omitempty"` // see widthTerms
	Width   *dialDocument `json:"width,omitempty"`

	CutsDBPerOct []int     `json:"cut_db_per_oct,omitempty"` // of cuts
	WidthLaw     *WidthLaw `json:"width_law,omitempty"`
}

type dialDocument struct {
	Min    *float64  `json:"min,omitempty"`
	Max    *float64  `json:"max,omitempty"`
	Step   float64   `json:"step,omitempty"` // default 0: no steps
	Values []float64 `json:"values,omitempty"`
}

// WidthLaw is [fit.WidthLaw] in JSON: width = dial · factor · 10^(gain_power·|gain_db|/40),
// times cut_factor if the gain is negative.
type WidthLaw struct {
	Factor    float64 `json:"factor,omitempty"`     // 0.1 to 10, default 1
	GainPower float64 `json:"gain_power,omitempty"` // −4 to 4
	CutFactor float64 `json:"cut_factor,omitempty"` // 0.1 to 10, default 1
}

// LawOf returns the law of a dial in JSON, nil if the dial shows the width itself.
func LawOf(s fit.DialTerms) *WidthLaw {
	if s.Law == (fit.WidthLaw{}) {
		return nil
	}
	law := WidthLaw(s.Law)
	return &law
}

// law returns the law; an error names the field that is out of bounds.
func (l *WidthLaw) law() (fit.WidthLaw, error) {
	if l == nil {
		return fit.WidthLaw{}, nil
	}
	for _, c := range []struct {
		name      string
		x         float64
		low, high float64
	}{{"factor", l.Factor, 0.1, 10}, {"gain_power", l.GainPower, -4, 4}, {"cut_factor", l.CutFactor, 0.1, 10}} {
		if c.x != 0 && !(c.x >= c.low && c.x <= c.high) {
			return fit.WidthLaw{}, fmt.Errorf("width_law.%s: %g is not between %g and %g", c.name, c.x, c.low, c.high)
		}
	}
	return fit.WidthLaw(*l), nil
}

// widthTerms are the words of width_is, true for shelves and false for bells.
var widthTerms = map[bool]map[string]fit.WidthTerm{
	true: {
		"slope": fit.OwnWidth, "q": fit.ShelfQ, "db-per-oct": fit.DBPerOct, "none": fit.NoWidth,
	},
	false: {
		"q": fit.OwnWidth, "oct": fit.Octaves, "oct-3db": fit.Octaves3DB, "none": fit.NoWidth,
	},
}

// DialWords returns freq_is and width_is for the dials of a shape.
func DialWords(shape biquad.Shape, s fit.DialTerms) (freqIs, widthIs string) {
	freqIs = "half-gain"
	switch {
	case shape == biquad.Bell:
		freqIs = "centre"
	case s.Freq == fit.Corner:
		freqIs = "corner"
	}
	for word, term := range widthTerms[shape != biquad.Bell] {
		if term == s.Width {
			widthIs = word
		}
	}
	return freqIs, widthIs
}

// ParseEqualiser reads the description of an equaliser, version 1; match/artefact/README.md has
// the fields. Dials that are not given are as on [fit.Default], at every stage. An error names the field, or
// the line if the JSON is wrong.
func ParseEqualiser(data []byte) (fit.Equaliser, error) {
	var none, e fit.Equaliser
	var d equaliserDocument
	data, err := io.ReadAll(measure.Text(bytes.NewReader(data)))
	if err != nil {
		return none, err
	}
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&d); err != nil {
		return none, fmt.Errorf("it is no description of an equaliser: %w", descriptionProblem(data, err))
	}
	if _, err := dec.Token(); err != io.EOF {
		return none, fmt.Errorf("it goes on after the description of the equaliser")
	}
	if d.Version != equaliserVersion {
		return none, finding.OtherVersion.Of(fmt.Errorf("version: it is %d; this program reads %d", d.Version, equaliserVersion))
	}
	e.Name = measure.Printable(d.Name)
	seen := map[string]bool{}
	for i, s := range d.Shapes {
		where := fmt.Sprintf("shapes[%d]", i)
		shape, known := biquad.ParseShape(s.Shape)
		if !known {
			return none, fmt.Errorf("%s.shape: there is no shape %q", where, s.Shape)
		}
		if seen[s.Shape] {
			return none, fmt.Errorf("%s.shape: %s stands twice; give a count", where, s.Shape)
		}
		seen[s.Shape] = true
		if shape.IsCut() {
			if err := s.checkCut(where); err != nil {
				return none, err
			}
			continue
		}
		a, err := s.ability(where, shape)
		if err != nil {
			return none, err
		}
		switch shape {
		case biquad.LowShelf:
			e.LowShelf = a
		case biquad.HighShelf:
			e.HighShelf = a
		default:
			e.Bell = a
		}
	}
	if e.LowShelf.Count+e.HighShelf.Count+e.Bell.Count == 0 {
		return none, fmt.Errorf("shapes: there is no shelf and no bell to set moves on")
	}
	if err := e.Check(); err != nil {
		return none, err
	}
	return e, nil
}

// descriptionProblem returns what is wrong with the JSON, with the line if it is known.
func descriptionProblem(data []byte, err error) error {
	name, unknown := strings.CutPrefix(err.Error(), "json: unknown field ")
	if !unknown {
		if errors.Is(err, io.EOF) {
			return errors.New("it is empty")
		}
		if errors.Is(err, io.ErrUnexpectedEOF) {
			return errors.New("it is not JSON (it ends in the middle)")
		}
		return jsonProblem(data, err)
	}
	if at := bytes.Index(data, []byte(name)); bytes.Count(data, []byte(name)) == 1 {
		return fmt.Errorf("unknown field %s (line %d)", name, 1+bytes.Count(data[:at], []byte("\n")))
	}
	return fmt.Errorf("unknown field %s", name)
}

// checkCut checks the slopes of a cut. No move uses a cut; they are accepted so that a
// description can be complete.
func (s shapeDocument) checkCut(where string) error {
	for j, slope := range s.CutsDBPerOct {
		f := biquad.Filter{Shape: biquad.LowCut, FreqHz: 100, CutDBPerOct: slope}
		if f.Check(48000) != nil {
			return fmt.Errorf("%s.cut_db_per_oct[%d]: %d is none of 6, 12, 18, 24, 36, 48", where, j, slope)
		}
	}
	return nil
}

// ability returns the limits of one shape, with those of the default equaliser as defaults.
func (s shapeDocument) ability(where string, shape biquad.Shape) (fit.ShapeLimits, error) {
	a, shelf := fit.Default().Bell, shape != biquad.Bell
	if shelf {
		a = fit.Default().LowShelf
	}
	a.Count = 1
	if s.Count != nil {
		a.Count = *s.Count
	}
	if len(s.CutsDBPerOct) > 0 {
		return a, fmt.Errorf("%s.cut_db_per_oct: a %s has none", where, shape)
	}
	switch {
	case s.FreqIs == "corner" && shelf:
		a.Terms.Freq = fit.Corner
	case s.FreqIs != "" && s.FreqIs != "half-gain":
		return a, fmt.Errorf("%s.freq_is: %q is neither \"half-gain\" nor, of a shelf, \"corner\"", where, s.FreqIs)
	}
	if s.WidthIs != "" {
		term, known := widthTerms[shelf][s.WidthIs]
		if !known {
			return a, fmt.Errorf("%s.width_is: a %s has no width %q", where, shape, s.WidthIs)
		}
		a.Terms.Width = term
		if s.Width == nil {
			return a, fmt.Errorf("%s.width: it is needed beside width_is", where)
		}
	}
	law, err := s.WidthLaw.law()
	if err != nil {
		return a, fmt.Errorf("%s.%w", where, err)
	}
	a.Terms.Law = law
	for _, dial := range []struct {
		name string
		from *dialDocument
		to   *fit.Dial
	}{{"freq_hz", s.FreqHz, &a.FreqHz}, {"gain_db", s.GainDB, &a.GainDB}, {"width", s.Width, &a.Width}} {
		if dial.from == nil {
			continue
		}
		d, err := dial.from.dial()
		if err != nil {
			return a, fmt.Errorf("%s.%s: %w", where, dial.name, err)
		}
		*dial.to = d
	}
	if a.Terms.Width == fit.NoWidth && len(a.Width.Values) != 1 {
		return a, fmt.Errorf("%s.width: where width_is is \"none\" it needs one value, the fixed %s", where, map[bool]string{true: "slope", false: "Q"}[shelf])
	}
	return a, nil
}

func (d dialDocument) dial() (fit.Dial, error) {
	switch {
	case len(d.Values) > 0 && (d.Min != nil || d.Max != nil || d.Step != 0):
		return fit.Dial{}, fmt.Errorf("give values, or min, max and step, but not both")
	case len(d.Values) > 0:
		return fit.Dial{Values: d.Values}, nil
	case d.Min == nil || d.Max == nil:
		return fit.Dial{}, fmt.Errorf("min and max, or values, are needed")
	}
	return fit.Dial{Min: *d.Min, Max: *d.Max, Step: d.Step}, nil
}
