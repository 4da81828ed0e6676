package document

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
)

// Shape is what an equaliser can do with one shape: Limits of a bell or shelf, CutsDBPerOct of a cut.
type Shape struct {
	biquad.Shape
	Limits       fit.ShapeLimits
	CutsDBPerOct []int
}

// WriteEqualiser writes the description of an equaliser, a line for each shape. It returns an error
// if [ParseEqualiser] would not read it.
func WriteEqualiser(w io.Writer, name string, shapes []Shape) error {
	var lines []string
	for _, s := range shapes {
		d := shapeDocument{Shape: s.String(), CutsDBPerOct: s.CutsDBPerOct}
		if a := s.Limits; !s.IsCut() {
			d.Count, d.FreqHz, d.GainDB, d.Width = &a.Count, dialOf(a.FreqHz), dialOf(a.GainDB), dialOf(a.Width)
			d.FreqIs, d.WidthIs = DialWords(s.Shape, a.Terms)
			d.WidthLaw = LawOf(a.Terms)
		}
		if s.Shape == biquad.Bell {
			d.FreqIs = "" // nothing else is known
		}
		line, err := json.Marshal(d)
		if err != nil {
			return err
		}
		lines = append(lines, "  "+string(line))
	}
	title, err := json.Marshal(name)
	if err != nil {
		return err
	}
	text := fmt.Sprintf("{\n \"version\": %d,\n \"name\": %s,\n \"shapes\": [\n%s\n ]\n}\n", equaliserVersion, title, strings.Join(lines, ",\n"))
	if _, err := ParseEqualiser([]byte(text)); err != nil {
		return err
	}
	_, err = io.WriteString(w, text)
	return err
}

func dialOf(d fit.Dial) *dialDocument {
	if len(d.Values) > 0 {
		return &dialDocument{Values: d.Values}
	}
	return &dialDocument{Min: &d.Min, Max: &d.Max, Step: d.Step}
}
