package fit

import (
	"fmt"
	"math"
	"slices"

	"toneplumb/biquad"
)

// Dial holds the possible settings of one control of an equaliser: the Values,
// ascending, if there are any; otherwise Min to Max in steps of Step counted from Min,
// or any value between them if Step is 0.
type Dial struct {
	Min, Max, Step float64
	Values         []float64
}

// ShapeLimits describes the filters of one shape that an equaliser offers.
type ShapeLimits struct {
	Count  int       // the largest number of filters; shelves 0 or 1
	FreqHz Dial      // in the meaning of Terms.Freq; by default that of biquad.Filter
	GainDB Dial      // its range must include 0
	Width  Dial      // in the meaning of Terms.Width; by default Q of bells, slope S of shelves
	Terms  DialTerms // the meaning of the frequency and width dials
}

// Equaliser describes the equaliser on which the moves are to be set.
type Equaliser struct {
	Name                      string // as its owner calls it; "" for the default one
	LowShelf, Bell, HighShelf ShapeLimits
}

// Offers reports whether the equaliser has any filter.
func (e Equaliser) Offers() bool { return e.LowShelf.Count+e.Bell.Count+e.HighShelf.Count > 0 }

// Limits in addition to those of the equaliser. Near half the sample rate the bilinear
// transform squeezes a curve so much that equalisers differ. A bell up there is not a
// broad move either.
const (
	maxFreqOfRate = 0.45
	maxBellHz     = 12000
)

// maxSettings bounds the number of settings of one dial, since they are all listed. Our
// choice: steps of 1 Hz from 20 Hz to 20 kHz are a fifth of it; eight moves of three dials
// this long take 19 MB.
const maxSettings = 100000

// Default returns the common equaliser with gains of ±6 dB.
func Default() Equaliser { return Common(6) }

// Common returns a common equaliser: one low shelf, one high shelf and eight
// bells, gains up to ±mostDB in 0.5 dB, frequencies from 20 Hz to 20 kHz on the preferred numbers
// R40, bell Q 0.5 to 2.0 in 0.1, shelf slope S 0.25 to 1 in 0.05.
// Our choice: broad moves only, on dials that are easy to read.
func Common(mostDB float64) Equaliser {
	freq := Dial{Values: preferredHz(20, 20000)}
	gain := Dial{Min: -mostDB, Max: mostDB, Step: 0.5}
	shelf := ShapeLimits{Count: 1, FreqHz: freq, GainDB: gain, Width: Dial{Min: 0.25, Max: 1, Step: 0.05}}
	bell := ShapeLimits{Count: 8, FreqHz: freq, GainDB: gain, Width: Dial{Min: 0.5, Max: 2, Step: 0.1}}
	return Equaliser{LowShelf: shelf, Bell: bell, HighShelf: shelf}
}

// r40 is a decade of the R40 series of preferred numbers. Source: ISO 3 (from
// memory); each is within 1.3 % of 100·10^(i/40).
var r40 = [40]float64{
	100, 106, 112, 118, 125, 132, 140, 150, 160, 170,
	180, 190, 200, 212, 224, 236, 250, 265, 280, 300,
	315, 335, 355, 375, 400, 425, 450, 475, 500, 530,
	560, 600, 630, 670, 710, 750, 800, 850, 900, 950,
}

// preferredHz returns the R40 numbers from low to high, ascending.
func preferredHz(low, high float64) []float64 {
	var values []float64
	for _, decade := range []float64{0.01, 0.1, 1, 10, 100, 1000} {
		for _, v := range r40 {
			if f := tidy(v * decade); f >= low && f <= high {
				values = append(values, f)
			}
		}
	}
	return values
}

// tidy removes the binary rounding error of a sum of decimal steps (0.3 + 4·0.1).
func tidy(x float64) float64 { return math.Round(x*1e9) / 1e9 }

// Check returns an error that says what is wrong with the description, or nil. For each
// shape with a Count above 0 it requires a Count of 1 for shelves; frequencies from 1 Hz to
// 1 MHz, gains within ±40 dB that include 0, and widths from 0.02 up to a limit that
// depends on the term; ascending values; and at most 100 000 settings per dial.
func (e Equaliser) Check() error {
	for _, shape := range shapes {
		a := e.Limits(shape)
		if a.Count == 0 {
			continue
		}
		if a.Count < 0 || a.Count > 1 && shape != biquad.Bell {
			return fmt.Errorf("%v: a count of %d; it must be 0 or more, for shelves 0 or 1", shape, a.Count)
		}
		for _, dial := range []struct {
			name      string
			d         Dial
			low, high float64 // allowed
		}{
			{"frequency in Hz", a.FreqHz, 1, 1e6},
			{"gain in dB", a.GainDB, -maxGainDB, maxGainDB},
			{"width", a.Width, 0.02, a.Terms.maxWidth(shape)},
		} {
			if err := dial.d.check(dial.low, dial.high); err != nil {
				return fmt.Errorf("%v, %s: %w", shape, dial.name, err)
			}
		}
		if min, max := a.GainDB.limits(); min > 0 || max < 0 {
			return fmt.Errorf("%v: a gain from %g to %g dB cannot be 0", shape, min, max)
		}
	}
	return nil
}

func (d Dial) check(low, high float64) error {
	for i, v := range d.Values {
		if i > 0 && !(v > d.Values[i-1]) {
			return fmt.Errorf("%g does not come after %g", v, d.Values[i-1])
		}
	}
	min, max := d.limits()
	if !(min >= low && max <= high && min <= max) {
		return fmt.Errorf("%g to %g; it must ascend and lie within %g to %g", min, max, low, high)
	}
	if !(d.Step >= 0 && d.Step <= max-min) {
		return fmt.Errorf("a step of %g from %g to %g", d.Step, min, max)
	}
	if d.Step > 0 && (max-min)/d.Step > maxSettings || len(d.Values) > maxSettings {
		return fmt.Errorf("more than %d settings; leave out the step for a dial without steps", maxSettings)
	}
	return nil
}

// limits returns the least and the greatest setting.
func (d Dial) limits() (min, max float64) {
	if n := len(d.Values); n > 0 {
		return d.Values[0], d.Values[n-1]
	}
	return d.Min, d.Max
}

// continuous reports whether d has no steps.
func (d Dial) continuous() bool { return d.Step == 0 && len(d.Values) == 0 }

// settings returns all settings of a dial with steps, ascending.
func (d Dial) settings() []float64 {
	if len(d.Values) > 0 {
		return d.Values
	}
	var all []float64
	for i := 0; ; i++ {
		v := tidy(d.Min + float64(i)*d.Step)
		if v > d.Max {
			return all
		}
		all = append(all, v)
	}
}

// Symmetric reports whether the negative of every setting is a setting, too.
func (d Dial) Symmetric() bool {
	low, high := d.limits()
	if d.continuous() {
		return low == -high
	}
	all := d.settings()
	for i, x := range all {
		if x != -all[len(all)-1-i] {
			return false
		}
	}
	return true
}

// below returns d without the settings above limit, and reports whether any are left.
func (d Dial) below(limit float64) (Dial, bool) {
	if n := len(d.Values); n > 0 {
		i, _ := slices.BinarySearch(d.Values, math.Nextafter(limit, math.Inf(1)))
		d.Values = d.Values[:i]
		return d, i > 0
	}
	d.Max = min(d.Max, limit)
	return d, d.Min <= d.Max
}

// shapes are the shapes that the fit uses.
var shapes = biquad.GainShapes

// Limits returns the limits of a low shelf, bell or high shelf; for any other shape,
// those of the bell.
func (e Equaliser) Limits(shape biquad.Shape) ShapeLimits {
	switch shape {
	case biquad.LowShelf:
		return e.LowShelf
	case biquad.HighShelf:
		return e.HighShelf
	default:
		return e.Bell
	}
}

// dials returns the three dials at the indices of biquad's partial derivatives.
func (a ShapeLimits) dials() [3]Dial {
	return [3]Dial{biquad.ByLnFreq: a.FreqHz, biquad.ByGainDB: a.GainDB, biquad.ByWidth: a.Width}
}

// within returns the limits of a shape at a sample rate: frequencies no higher than
// maxFreqOfRate and maxBellHz allow, and a count of 0 if none is left.
func (e Equaliser) within(shape biquad.Shape, rateHz float64) ShapeLimits {
	a := e.Limits(shape)
	if a.Count == 0 {
		return ShapeLimits{}
	}
	limit := maxFreqOfRate * rateHz
	if shape == biquad.HighShelf && a.Terms.Freq == Corner {
		// The filter's frequency lies above the dialled one, the more so the larger the gain.
		low, high := a.GainDB.limits()
		limit *= a.Terms.cornerFactor(biquad.Filter{Shape: shape, GainDB: max(-low, high)})
	}
	if shape == biquad.Bell {
		limit = min(limit, maxBellHz)
	}
	var left bool
	if a.FreqHz, left = a.FreqHz.below(limit); !left {
		return ShapeLimits{}
	}
	return a
}

// Restrict returns the equaliser without dial frequencies outside lowHz to highHz: a
// move whose corner or centre lies where nothing is judged would answer no measured
// difference. A shape with no frequency left is no longer offered.
func (e Equaliser) Restrict(lowHz, highHz float64) Equaliser {
	for _, a := range []*ShapeLimits{&e.LowShelf, &e.Bell, &e.HighShelf} {
		if a.Count == 0 {
			continue
		}
		d, left := &a.FreqHz, false
		if d.continuous() {
			d.Min, d.Max = max(d.Min, lowHz), min(d.Max, highHz)
			left = d.Min <= d.Max
		} else {
			outside := func(hz float64) bool { return hz < lowHz || hz > highHz }
			*d = Dial{Values: slices.DeleteFunc(slices.Clone(d.settings()), outside)}
			left = len(d.Values) > 0
		}
		if !left {
			*a = ShapeLimits{}
		}
	}
	return e
}

// maxGainDB bounds the gain of any equaliser.
const maxGainDB = 40

// Louder returns the equaliser with its gain ranges multiplied by factor, at most ±40 dB
// and without steps. It is for a search whose gains are scaled down afterwards.
func (e Equaliser) Louder(factor float64) Equaliser {
	for _, a := range []*ShapeLimits{&e.LowShelf, &e.Bell, &e.HighShelf} {
		low, high := a.GainDB.limits()
		a.GainDB = Dial{Min: max(-maxGainDB, factor*low), Max: min(maxGainDB, factor*high)}
	}
	return e
}

// Scaled returns filters with their gains multiplied by factor, at the same slope of
// shelves and Q of bells. Their response in dB scales by nearly the same factor.
func Scaled(filters []biquad.Filter, factor float64) []biquad.Filter {
	scaled := slices.Clone(filters)
	for i, f := range scaled {
		gainDB := factor * f.GainDB
		if f.Shape != biquad.Bell && math.Abs(f.GainDB) > 0 {
			scaled[i].Q = biquad.QFromSlope(biquad.SlopeFromQ(f.Q, f.GainDB), gainDB)
		}
		scaled[i].GainDB = gainDB
	}
	return scaled
}
