package match

import (
	"math"

	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
)

// When a band says nothing about tone it is left out: the target, the moves and
// the distances do not see it.
const (
	// weakDB below the strongest band there is nothing to hear and much to
	// mistake: decoders' and converters' floors. Our choice.
	weakDB = 70
	// floorMarginDB is how far a band must stand over the noise of a dithered
	// integer word. Our choice: at 10 dB that noise still adds 0.41 dB.
	floorMarginDB = 20
	// Below lowsBelowHz a side whose level is lowsFallDB under its own in the
	// octave lowsFromHz to lowsToHz has nothing there that an equaliser could
	// raise. Our choice.
	lowsBelowHz, lowsFromHz, lowsToHz = 100.0, 63.0, 125.0
	lowsFallDB                        = 15
	// Above steepFromHz a side that falls by steepFallDB within half an octave, and does
	// not come back, has been low-passed: by a coder, a sampler or an old record. Our
	// choice: 24 dB an octave, where whole songs fall by 3 to 12, and a shelf by 4.
	steepFromHz, steepFallDB = 7000.0, 12
	// cutoffMargin is a quarter of an octave: where a lossy encoder's low-pass
	// begins to bend the spectrum. Measured on 128 kbit/s MP3: judged to the end
	// it costs 0.86 dB rms, left out 0.16. Smoothing windows may reach a sixth of
	// an octave into it, to cutoffEnd.
	cutoffMargin = 1.1892 // 2^(1/4)
	cutoffEnd    = 1.0595 // 2^(1/12)
	// rateShare of the sample rate is the last that converters leave straight: 20 kHz
	// at 44.1 kHz (common practice, no source).
	rateShare = 0.4535
)

// Exclusion is why a band is left out. The zero value is a band that is not.
type Exclusion struct {
	Cause Cause
	Side  Side    // the recording that says nothing there
	Hz    float64 // of SampleRate and RateOfCurve the rate, of StopsThere, NoLows and FallsOff the frequency
}

// Cause is what kind of reason there is to leave a band out.
type Cause uint8

const (
	Kept         Cause = iota // it is not left out
	SampleRate                // it is beyond what the sample rate holds
	StopsThere                // it is beyond a low-pass
	NoiseFloor                // it is near the noise floor
	NoLows                    // there is little below
	FallsOff                  // it falls as steeply as a low-pass does
	RateOfCurve               // it is beyond what the equaliser of a drawn curve can hold
	OutsideCurve              // a drawn curve has no point there
	OutsideRange              // it is outside CompareOptions.RangeHz; of spans alone
)

// Code is the cause in JSON.
func (c Cause) Code() string {
	return [...]string{"", "sample-rate", "low-pass", "noise-floor", "no-lows", "falls-off", "equaliser-rate", "outside-curve", "outside-range"}[c]
}

// leftOut returns for each band why one recording says nothing there. power is its mean
// band power.
func leftOut(side Side, r *measure.Recording, power []float64) []Exclusion {
	why := make([]Exclusion, spectrum.BandCount)
	strongest := 0.0
	for _, p := range power {
		strongest = math.Max(strongest, p)
	}
	third := thirdOctaveMean(power)
	lows := meanBetween(power, lowsFromHz, lowsToHz)
	noLowsTo := 0.0 // below a gap in the lows nothing is judged, whatever rumbles there
	for b := range power {
		// A mean that reaches above takes in the music that ends a gap, so that from
		// below counts too.
		least := min(third[b], meanOf(power[max(0, b-spectrum.BandsPerOctave/6):b+1]))
		if high := spectrum.EdgeHz(b + 1); high <= lowsBelowHz && least < lows*spectrum.DBToPower(-lowsFallDB) {
			noLowsTo = high
		}
	}
	fallsFrom := fallsOff(third, r.CutoffHz)
	rateHz := float64(r.Format.RateHz)
	for b, p := range power {
		low, high := spectrum.EdgeHz(b), spectrum.EdgeHz(b+1)
		switch {
		case high > rateShare*rateHz:
			why[b] = Exclusion{SampleRate, side, rateHz}
		case r.CutoffHz > 0 && high > r.CutoffHz/cutoffEnd:
			why[b] = Exclusion{StopsThere, side, r.CutoffHz}
		case p < strongest*spectrum.DBToPower(-weakDB), p < wordFloor(r, high-low)*spectrum.DBToPower(floorMarginDB):
			why[b] = Exclusion{Cause: NoiseFloor, Side: side}
		case high <= noLowsTo:
			why[b] = Exclusion{NoLows, side, noLowsTo}
		case b >= fallsFrom:
			why[b] = Exclusion{FallsOff, side, spectrum.EdgeHz(fallsFrom)}
		}
	}
	return why
}

// fallsOff returns the first band of the stretch at the top that falls as steeply as a
// low-pass does, given third-octave means and where a coder's low-pass is; as many as there
// are bands if none does. The stretch begins a quarter of an octave before the fall is
// sure.
func fallsOff(third []float64, cutoffHz float64) int {
	const half = spectrum.BandsPerOctave / 2
	first := len(third)
	most := 0.0 // of the bands above
	for b := len(third) - 1; spectrum.CentreHz(b) > steepFromHz; b-- {
		known := cutoffHz > 0 && spectrum.EdgeHz(b+1) > cutoffHz/cutoffMargin
		if steep := third[b-half] * spectrum.DBToPower(-steepFallDB); !known && third[b] < steep && most < 2*steep {
			first = b - half/2
		}
		most = max(most, third[b])
	}
	return first
}

// wordFloor returns the power in widthHz of the noise of rounding with triangular
// dither to the recording's word length, both channels: Δ²/4 each, Δ = 2^(1−bits),
// spread evenly to half the rate; 0 for float.
// Source: S. P. Lipshitz et al., J. Audio Eng. Soc. 40 (1992), 355–375 (from memory).
func wordFloor(r *measure.Recording, widthHz float64) float64 {
	if r.Format.Bits == 0 {
		return 0
	}
	step := math.Exp2(float64(1 - r.Format.Bits))
	return float64(min(2, r.Format.Channels)) * step * step / 4 * widthHz / (float64(r.Format.RateHz) / 2)
}

// thirdOctaveMean returns the mean power of each band and four on either side.
func thirdOctaveMean(power []float64) []float64 {
	const reach = spectrum.BandsPerOctave / 6
	mean := make([]float64, len(power))
	for b := range power {
		mean[b] = meanOf(power[max(0, b-reach):min(len(power), b+reach+1)])
	}
	return mean
}

func meanBetween(power []float64, fromHz, toHz float64) float64 {
	sum, n := 0.0, 0
	for b, p := range power {
		if hz := spectrum.CentreHz(b); hz >= fromHz && hz <= toHz {
			sum, n = sum+p, n+1
		}
	}
	return sum / float64(max(1, n))
}

func meanOf(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(max(1, len(x)))
}

// LeftOutSpan is a stretch of the spectrum that is not judged, and why.
type LeftOutSpan struct {
	LowHz, HighHz float64
	Why           Exclusion
}

// LeftOutSpans joins neighbouring bands with one reason, those outside the range
// included. A span narrower than a quarter of an octave is joined to the one below.
func (c *Comparison) LeftOutSpans() []LeftOutSpan {
	const narrowest = spectrum.BandsPerOctave / 4
	var spans []LeftOutSpan
	from, last := 0, Exclusion{}
	for b := 0; b <= spectrum.BandCount; b++ {
		var why Exclusion
		if b < spectrum.BandCount {
			why = c.LeftOut[b]
			if hz := spectrum.CentreHz(b); why.Cause == Kept && (hz < c.Options.RangeHz[0] || hz > c.Options.RangeHz[1]) {
				why.Cause = OutsideRange
			}
		}
		if why == last {
			continue
		}
		if last.Cause != Kept {
			s := LeftOutSpan{LowHz: spectrum.EdgeHz(from), HighHz: spectrum.EdgeHz(b), Why: last}
			if n := len(spans); n > 0 && spans[n-1].HighHz == s.LowHz && b-from < narrowest {
				spans[n-1].HighHz = s.HighHz
			} else {
				spans = append(spans, s)
			}
		}
		from, last = b, why
	}
	return spans
}

// JudgedHz returns the ends of what is judged: those of the range where nothing is
// left out there, else the edges of bands.
func (c *Comparison) JudgedHz() (lowHz, highHz float64) {
	low, high := c.Options.RangeHz[0], c.Options.RangeHz[1]
	for b, yes := range c.Judged() {
		if !yes {
			continue
		}
		if lowHz == 0 {
			lowHz = low
			if b > 0 && spectrum.CentreHz(b-1) >= low {
				lowHz = spectrum.EdgeHz(b)
			}
		}
		highHz = high
		if b+1 < spectrum.BandCount && spectrum.CentreHz(b+1) <= high {
			highHz = spectrum.EdgeHz(b + 1)
		}
	}
	return lowHz, highHz
}

// Judged says which bands are judged. It is not to be changed.
func (c *Comparison) Judged() spectrum.Judged {
	if c.judged != nil {
		return c.judged
	}
	judged := make(spectrum.Judged, len(c.LeftOut))
	for b, why := range c.LeftOut {
		hz := spectrum.CentreHz(b)
		judged[b] = why.Cause == Kept && hz >= c.Options.RangeHz[0] && hz <= c.Options.RangeHz[1]
	}
	return judged
}
