package match

import (
	"math"

	"gonum.org/v1/gonum/stat"

	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
)

// A band that says nothing about tone is left out: the target, the moves and the distances
// ignore it.
const (
	// weakDB is how far below the strongest band a band is left out: decoders' and
	// converters' noise floors are easily mistaken for sound there. Our choice.
	weakDB = 70
	// floorMarginDB is how far above the noise of a dithered integer word a band must
	// be. Our choice: at 10 dB that noise still adds 0.41 dB.
	floorMarginDB = 20
	// Below lowsBelowHz a recording is left out where its level is lowsFallDB under its
	// mean from lowsFromHz to lowsToHz: an equaliser has nothing to raise there. Our
	// choice.
	lowsBelowHz, lowsFromHz, lowsToHz = 100.0, 63.0, 125.0
	lowsFallDB                        = 15
	// A recording that falls by steepFallDB within half an octave above steepFromHz, and
	// does not come back, was low-passed by a coder, a sampler or an old record. Our
	// choice: 24 dB an octave, where whole songs fall by 3 to 12, and a shelf by 4.
	steepFromHz, steepFallDB = 7000.0, 12
	// cutoffMargin is a quarter of an octave: where a lossy encoder's low-pass
	// begins to bend the spectrum. Measured on 128 kbit/s MP3: judging up to the cutoff
	// costs 0.86 dB rms, leaving the margin out 0.16. Smoothing windows may reach a sixth
	// of an octave into it, to cutoffEnd.
	cutoffMargin = 1.1892 // 2^(1/4)
	cutoffEnd    = 1.0595 // 2^(1/12)
	// rateShare of the sample rate is the highest frequency that converters pass flat:
	// 20 kHz at 44.1 kHz (common practice, no source).
	rateShare = 0.4535
)

// Exclusion is why a band is left out. The zero value is a band that is kept.
type Exclusion struct {
	Cause Cause
	Side  Side    // the recording that says nothing there
	Hz    float64 // the rate for SampleRate and RateOfCurve; the frequency for StopsThere, NoLows and FallsOff
}

// Cause is the kind of reason for which a band is left out.
type Cause uint8

const (
	Kept         Cause = iota // the band is not left out
	SampleRate                // too near half the sample rate
	StopsThere                // beyond a low-pass
	NoiseFloor                // near the noise floor
	NoLows                    // the recording has little there or below
	FallsOff                  // the top falls as steeply as after a low-pass
	RateOfCurve               // too near half the rate of a drawn curve's equaliser
	OutsideCurve              // a drawn curve has no point there
	OutsideRange              // outside CompareOptions.RangeHz; only in spans
)

// Code returns the cause as it is written in JSON; "" for Kept.
func (c Cause) Code() string {
	return [...]string{"", "sample-rate", "low-pass", "noise-floor", "no-lows", "falls-off", "equaliser-rate", "outside-curve", "outside-range"}[c]
}

// leftOut returns the exclusion of each band by one recording, given its mean band power.
func leftOut(side Side, r *measure.Recording, power []float64) []Exclusion {
	why := make([]Exclusion, spectrum.BandCount)
	strongest := 0.0
	for _, p := range power {
		strongest = math.Max(strongest, p)
	}
	third := thirdOctaveMean(power)
	lows := meanBetween(power, lowsFromHz, lowsToHz)
	noLowsTo := 0.0 // below a gap in the lows nothing is judged, even if something rumbles there
	for b := range power {
		// The centred mean includes the music above the gap, so take the smaller of it and
		// the mean over the bands below.
		least := min(third[b], stat.Mean(power[max(0, b-spectrum.BandsPerOctave/6):b+1], nil))
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

// fallsOff returns the first band of a top that falls as steeply as after a low-pass, or
// len(third) if it does not. third holds third-octave means; cutoffHz is the measured low-pass,
// 0 if none. The stretch begins a quarter of an octave below the band that shows the fall.
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

// wordFloor returns the noise power in a band widthHz wide that rounding to the recording's
// word length leaves, with triangular dither. It sums both channels: Δ²/4 each, Δ = 2^(1−bits),
// spread evenly up to half the sample rate; 0 for float.
// Source: S. P. Lipshitz et al., J. Audio Eng. Soc. 40 (1992), 355–375 (from memory).
func wordFloor(r *measure.Recording, widthHz float64) float64 {
	if r.Format.Bits == 0 {
		return 0
	}
	step := math.Exp2(float64(1 - r.Format.Bits))
	return float64(min(2, r.Format.Channels)) * step * step / 4 * widthHz / (float64(r.Format.RateHz) / 2)
}

// thirdOctaveMean returns the mean power over each band and four bands on either side.
func thirdOctaveMean(power []float64) []float64 {
	const reach = spectrum.BandsPerOctave / 6
	mean := make([]float64, len(power))
	for b := range power {
		mean[b] = stat.Mean(power[max(0, b-reach):min(len(power), b+reach+1)], nil)
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

// LeftOutSpan is a stretch of the spectrum that is not judged, and why.
type LeftOutSpan struct {
	LowHz, HighHz float64
	Why           Exclusion
}

// LeftOutSpans joins neighbouring bands with the same reason, those outside Options.RangeHz
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

// mostlyLeftOut returns why most of what is left out in a zone is left out.
func (c *Comparison) mostlyLeftOut(z Zone) (most Exclusion) {
	count := map[Exclusion]int{}
	for _, s := range c.LeftOutSpans() {
		for b := range c.LeftOut {
			hz := spectrum.CentreHz(b)
			if hz < max(s.LowHz, z.LowHz) || hz >= min(s.HighHz, z.HighHz) {
				continue
			}
			if count[s.Why]++; count[s.Why] > count[most] {
				most = s.Why
			}
		}
	}
	return most
}

// JudgedHz returns the ends of what is judged, in Hz: those of Options.RangeHz, or the edge
// of the outermost judged band if bands are left out there. Both are 0 if nothing is judged.
func (c *Comparison) JudgedHz() (lowHz, highHz float64) {
	return c.judgedBetween(c.Options.RangeHz[0], c.Options.RangeHz[1])
}

// JudgedHzOf returns where the judged bands of a zone begin and end, so that a figure stands beside what it is
// the mean of; the zone's own edges if none is judged.
func (c *Comparison) JudgedHzOf(z Zone) (lowHz, highHz float64) {
	lowHz, highHz = c.judgedBetween(max(z.LowHz, c.Options.RangeHz[0]), min(z.HighHz, c.Options.RangeHz[1]))
	if lowHz == 0 {
		return z.LowHz, z.HighHz
	}
	return lowHz, highHz
}

// judgedBetween returns where the judged bands between two frequencies begin and end, 0 if there are none.
func (c *Comparison) judgedBetween(low, high float64) (lowHz, highHz float64) {
	for b, yes := range c.Judged() {
		if hz := spectrum.CentreHz(b); !yes || hz < low || hz > high {
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

// Judged returns which bands are judged. The caller must not change it.
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
