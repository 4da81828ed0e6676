package document

import (
	"cmp"
	"fmt"
	"math"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
)

// moveFields is one move of a settings document. Most numbers appear in several places, since
// the document has different readers. In a document edited by hand a number may be in any one
// of them, with null or nothing in the others. If it is in several, they must agree (see agree),
// so that no edit is ignored.
type moveFields struct {
	Shape  string   `json:"shape"`   // low-shelf, bell, high-shelf, low-cut or high-cut
	FreqHz *float64 `json:"freq_hz"` // half-gain or centre; of a cut, where it is 3.01 dB down; or dial.freq_hz
	GainDB *float64 `json:"gain_db"` // or dial.gain_db; not for a cut

	// The width of shelves and bells: one of these, or dial.width.
	Q            *float64 `json:"q"`             // of the cookbook
	ShelfSlope   *float64 `json:"shelf_slope"`   // S; for a shelf
	BandwidthOct *float64 `json:"bandwidth_oct"` // octaves between half-gain points; for a bell

	CutDBPerOct *float64   `json:"cut_db_per_oct"` // for a cut only
	Dial        dialFields `json:"dial"`           // in the terms of an equaliser's own dials; not for a cut
}

type dialFields struct {
	FreqHz  *float64 `json:"freq_hz"`
	FreqIs  string   `json:"freq_is"` // "half-gain" (default) or "corner" for a shelf, "centre" for a bell
	GainDB  *float64 `json:"gain_db"`
	Width   *float64 `json:"width"`
	WidthIs string   `json:"width_is"` // see widthTerms; default "slope" for a shelf, "q" for a bell

	WidthLaw *WidthLaw `json:"width_law"`
}

// Bounds of a width given as slope or octaves: those of an equaliser's dials.
const (
	minShelfSlope, maxShelfSlope     = 0.02, 1.2
	minBandwidthOct, maxBandwidthOct = 0.02, 10
)

// filter returns the move as a filter. name is the move's path in error messages.
func (m *moveFields) filter(name string, rateHz float64) (biquad.Filter, error) {
	var none biquad.Filter
	shape, known := biquad.ParseShape(m.Shape)
	if !known {
		return none, fmt.Errorf(`the field "%s.shape" is %q, not low-shelf, bell, high-shelf, low-cut or high-cut`, name, m.Shape)
	}
	if err := m.checkNames(name, shape); err != nil {
		return none, err
	}
	f := biquad.Filter{Shape: shape}
	var err error
	if shape.IsCut() {
		err = m.setCut(name, &f, rateHz)
	} else {
		err = m.setGainAndWidth(name, &f, rateHz)
	}
	if err != nil {
		return none, err
	}
	if err := f.Check(rateHz); err != nil {
		return none, fmt.Errorf(`the field %q: %w`, name, err)
	}
	return f, nil
}

// checkNames returns an error if a field is given that the shape does not have.
func (m *moveFields) checkNames(name string, shape biquad.Shape) error {
	cut, bell := shape.IsCut(), shape == biquad.Bell
	for _, field := range []struct {
		name  string
		value *float64
		has   bool
	}{
		{"gain_db", m.GainDB, !cut}, {"q", m.Q, !cut}, {"shelf_slope", m.ShelfSlope, !cut && !bell}, {"bandwidth_oct", m.BandwidthOct, bell},
		{"cut_db_per_oct", m.CutDBPerOct, cut},
		{"dial.freq_hz", m.Dial.FreqHz, !cut}, {"dial.gain_db", m.Dial.GainDB, !cut}, {"dial.width", m.Dial.Width, !cut},
	} {
		if !field.has && field.value != nil {
			return fmt.Errorf(`the field "%s.%s": a %v has none`, name, field.name, shape)
		}
	}
	return nil
}

func (m *moveFields) setCut(name string, f *biquad.Filter, rateHz float64) error {
	var err error
	if f.FreqHz, err = needed(name+".freq_hz", m.FreqHz, 10, 0.499*rateHz); err != nil {
		return err
	}
	slope, err := needed(name+".cut_db_per_oct", m.CutDBPerOct, 6, 48)
	if err != nil {
		return err
	}
	if f.CutDBPerOct = int(slope); float64(f.CutDBPerOct) != slope {
		return fmt.Errorf(`the field "%s.cut_db_per_oct" is %g, no whole number`, name, slope)
	}
	return nil
}

// setGainAndWidth sets f to a shelf or bell. It takes each number from the first place that
// has it; all other places must then agree.
func (m *moveFields) setGainAndWidth(name string, f *biquad.Filter, rateHz float64) error {
	stated, err := m.Dial.stated(name, f.Shape)
	if err != nil {
		return err
	}
	gain := cmp.Or(m.GainDB, m.Dial.GainDB)
	if f.GainDB, err = needed(name+".gain_db", gain, -maxGainDB, maxGainDB); err != nil {
		return err
	}
	freq := m.FreqHz
	if at := m.Dial.FreqHz; freq == nil && at != nil {
		dialled := stated.Filter(f.Shape, *at, f.GainDB, 1)
		freq = &dialled.FreqHz
	}
	if f.FreqHz, err = needed(name+".freq_hz", freq, 10, 0.499*rateHz); err != nil {
		return err
	}
	if err := m.setWidth(name, f, stated); err != nil {
		return err
	}
	return m.agree(name, *f, stated)
}

func (m *moveFields) setWidth(name string, f *biquad.Filter, stated fit.ShapeLimits) error {
	var err error
	switch width := 0.0; {
	case m.Q == nil && m.ShelfSlope != nil:
		width, err = needed(name+".shelf_slope", m.ShelfSlope, minShelfSlope, maxShelfSlope)
		f.Q = biquad.QFromSlope(width, f.GainDB)
	case m.Q == nil && m.BandwidthOct != nil:
		width, err = needed(name+".bandwidth_oct", m.BandwidthOct, minBandwidthOct, maxBandwidthOct)
		f.Q = biquad.QFromBandwidth(width)
	case m.Q == nil && m.Dial.Width != nil:
		f.Q = stated.Filter(f.Shape, f.FreqHz, f.GainDB, *m.Dial.Width).Q
	default:
		f.Q, err = needed(name+".q", m.Q, 0.05, 50)
	}
	return err
}

// agree returns an error if a number appears in two places that differ by more than rounding:
// 0.001, or that share of numbers above 1. The document has four decimals. Rounding changes
// another number most for octaves at the least Q of 0.05: by 0.0029 of 8.65.
func (m *moveFields) agree(name string, f biquad.Filter, stated fit.ShapeLimits) error {
	const rounding = 0.001
	freqHz, gainDB, width := stated.Dialled(f)
	for _, field := range []struct {
		name  string
		value *float64
		want  float64
	}{
		{"shelf_slope", m.ShelfSlope, biquad.SlopeFromQ(f.Q, f.GainDB)},
		{"bandwidth_oct", m.BandwidthOct, biquad.BandwidthFromQ(f.Q)},
		{"dial.freq_hz", m.Dial.FreqHz, freqHz},
		{"dial.gain_db", m.Dial.GainDB, gainDB},
		{"dial.width", m.Dial.Width, width},
	} {
		if field.value != nil && !(math.Abs(*field.value-field.want) <= rounding*math.Max(1, math.Abs(field.want))) {
			return fmt.Errorf(`the field "%s.%s" is %g, but the other fields make it %g: change both, or take one out`, name, field.name, *field.value, math.Round(field.want*1e4)/1e4)
		}
	}
	return nil
}

// stated returns the terms that the dials are in.
func (d *dialFields) stated(name string, shape biquad.Shape) (fit.ShapeLimits, error) {
	var a fit.ShapeLimits
	if d.FreqIs == "corner" && shape != biquad.Bell {
		a.Terms.Freq = fit.Corner
	}
	if d.WidthIs != "" {
		a.Terms.Width = widthTerms[shape != biquad.Bell][d.WidthIs]
	}
	var err error
	if a.Terms.Law, err = d.WidthLaw.law(); err != nil {
		return a, fmt.Errorf(`the field "%s.dial.%w"`, name, err)
	}
	freqIs, widthIs := DialWords(shape, a.Terms)
	if d.FreqIs != "" && d.FreqIs != freqIs {
		return a, fmt.Errorf(`the field "%s.dial.freq_is" is %q, which a %v has not`, name, d.FreqIs, shape)
	}
	if d.WidthIs != "" && d.WidthIs != widthIs {
		return a, fmt.Errorf(`the field "%s.dial.width_is" is %q, which a %v has not`, name, d.WidthIs, shape)
	}
	return a, nil
}

// needed returns the value of a required field, checked against its bounds.
func needed(name string, v *float64, low, high float64) (float64, error) {
	switch {
	case v == nil:
		return 0, fmt.Errorf(`the field %q is missing`, name)
	case !(*v >= low && *v <= high):
		return 0, fmt.Errorf(`the field %q is %g, not between %g and %g`, name, *v, low, high)
	}
	return *v, nil
}
