package fit

import (
	"fmt"
	"math"
	"slices"

	"toneplumb/biquad"
)

// Dial is what one control of an equaliser can be set to: the Values, ascending,
// if there are any; else Min to Max in steps of Step counted from Min, or
// anything between them if Step is 0.
type Dial struct {
	Min, Max, Step float64
	Values         []float64
}

// ShapeLimits is what an equaliser offers of one shape.
type ShapeLimits struct {
	Count  int  // how many filters at most; shelves 0 or 1
	FreqHz Dial // as biquad.Filter has it
	GainDB Dial // must reach 0 from below or above
	Width  Dial // as DialTerms has it; by default Q of bells, slope S of shelves
	Terms  DialTerms
}

// Equaliser is what the moves are set on.
type Equaliser struct {
	Name                      string // as its owner calls it; "" of the default one
	LowShelf, Bell, HighShelf ShapeLimits
}

// Limits beside those of the equaliser. Near half the sample rate the bilinear
// transform squeezes a curve so much that equalisers differ; a bell up there is
// also no broad move.
const (
	maxFreqOfRate = 0.45
	maxBellHz     = 12000
)

// maxSettings bounds the settings of one dial, all of which are listed. Our choice: 1 Hz
// from 20 Hz to 20 kHz has a fifth of that; eight moves of three such dials take 19 MB.
const maxSettings = 100000

// Default returns a common equaliser: one low shelf, one high shelf and eight
// bells, ±6 dB in 0.5 dB, frequencies from 20 Hz to 20 kHz on the preferred numbers
// R40, bell Q 0.5 to 2.0 in 0.1, shelf slope S 0.25 to 1 in 0.05.
// Our choice: broad moves only, on dials that are easily read.
func Default() Equaliser {
	freq := Dial{Values: preferredHz(20, 20000)}
	gain := Dial{Min: -6, Max: 6, Step: 0.5}
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

// tidy takes off what binary fractions add to a decimal step (0.3 + 4·0.1).
func tidy(x float64) float64 { return math.Round(x*1e9) / 1e9 }

// Check says what is wrong with an equaliser's description, or returns nil.
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

// continuous tells a dial without steps.
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

// below returns d without the settings above limit, and whether any are left.
func (d Dial) below(limit float64) (Dial, bool) {
	if n := len(d.Values); n > 0 {
		i, _ := slices.BinarySearch(d.Values, math.Nextafter(limit, math.Inf(1)))
		d.Values = d.Values[:i]
		return d, i > 0
	}
	d.Max = min(d.Max, limit)
	return d, d.Min <= d.Max
}

// shapes are those the fit uses.
var shapes = [...]biquad.Shape{biquad.LowShelf, biquad.Bell, biquad.HighShelf}

// Limits returns what the equaliser offers of a low shelf, bell or high shelf.
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

// within returns the ability at a sample rate: frequencies no higher than our
// limits, a count of 0 where nothing is left.
func (e Equaliser) within(shape biquad.Shape, rateHz float64) ShapeLimits {
	a := e.Limits(shape)
	if a.Count == 0 {
		return ShapeLimits{}
	}
	limit := maxFreqOfRate * rateHz
	if shape == biquad.HighShelf && a.Terms.Freq == Corner {
		// The filter lies above its dial, the more so the larger the gain.
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
