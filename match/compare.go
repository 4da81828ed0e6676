// Package match finds how the tone of a mix differs from that of reference
// recordings and which few moves of one equaliser take it there.
//
// The path most callers need: measure the recordings, Compare them once, Solve
// for the moves. Nothing here reads sound, so solving again with other options is
// quick. What a person sees stands at equal integrated loudness; distances have
// the mean removed, since level is no matter of tone.
//
// Limits: the difference of two songs is mostly arrangement; how sure it is, is
// not yet said.
package match

import (
	"fmt"
	"math"

	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// Comparison is a mix beside its references, measured and aligned, before any
// move. All slices have an entry for each band of package spectrum.
type Comparison struct {
	Mix        *measure.Recording
	References []*measure.Recording
	Options    CompareOptions

	SameSong []bool // for each reference: it is a copy of the mix's song

	// MixDB and ReferenceDB are smoothed levels per band in dB relative to the
	// loudness of each (0 dB is the power that reads 0 LU), so that pink noise is
	// flat; of several references the mean. NaN where left out.
	MixDB, ReferenceDB []float64

	// DifferenceDB is ReferenceDB − MixDB, over the same music where both are one
	// song. NaN where left out.
	DifferenceDB []float64

	// LeftOut says why a band is left out of the comparison, "" where it is not;
	// outside Options.RangeHz a band is not judged, but not left out either.
	LeftOut []string

	judged   []bool    // not left out and in range
	rawDB    []float64 // the difference before smoothing, where left out too
	smoother *spectrum.Smoother
}

// Compare compares a mix with one or more references. It panics if there is none
// or an option fails its Check. It refuses, with an *audio.Error about the mix, a
// pair in which less than an octave can be judged.
func Compare(mix *measure.Recording, references []*measure.Recording, o CompareOptions) (*Comparison, error) {
	if err := o.Check(); err != nil || len(references) == 0 {
		panic("match: a comparison needs a reference and sound options")
	}
	c := &Comparison{Mix: mix, References: references, Options: o}
	mixGate := mix.GateWeights()
	mixPower := mix.MeanPower(mixGate)
	c.LeftOut = leftOut("the mix", mix, mixPower)

	c.rawDB = make([]float64, spectrum.BandCount) // mean over references of dB
	refDB := make([]float64, spectrum.BandCount)
	for i, ref := range references {
		refGate := ref.GateWeights()
		refPower, mixPower := ref.MeanPower(refGate), mixPower
		for b, why := range leftOut(referenceName(i, len(references)), ref, refPower) {
			if c.LeftOut[b] == "" {
				c.LeftOut[b] = why
			}
		}
		copied := align(mix, ref, mixGate, refGate)
		c.SameSong = append(c.SameSong, copied.Same)
		if copied.Same {
			together, refTogether := gateTogether(mixGate, refGate, copied.LagSec)
			mixPower, refPower = mix.MeanPower(together), ref.MeanPower(refTogether)
		}
		level := mix.LoudnessLUFS - ref.LoudnessLUFS
		for b := range c.rawDB {
			c.rawDB[b] += (decibel(refPower[b]) - decibel(mixPower[b]) + level) / float64(len(references))
			refDB[b] += (decibel(refPower[b]) - ref.LoudnessLUFS) / float64(len(references))
		}
	}
	c.judge()
	if c.judgedBands() < spectrum.BandsPerOctave {
		return nil, &audio.Error{Path: mix.Path,
			Problem: "has less than an octave that can be compared with the reference",
			Hint:    "check that both are whole recordings of music, and widen the range"}
	}
	mixDB := make([]float64, spectrum.BandCount)
	for b, p := range mixPower {
		mixDB[b] = decibel(p) - mix.LoudnessLUFS
	}
	c.DifferenceDB, c.MixDB, c.ReferenceDB = c.smooth(c.rawDB), c.smooth(mixDB), c.smooth(refDB)
	return c, nil
}

// judge sets what is judged and the smoother, from what is left out.
func (c *Comparison) judge() {
	left := make([]bool, len(c.LeftOut))
	c.judged = make([]bool, len(c.LeftOut))
	for b, why := range c.LeftOut {
		left[b] = why != ""
		hz := spectrum.CentreHz(b)
		c.judged[b] = !left[b] && hz >= c.Options.RangeHz[0] && hz <= c.Options.RangeHz[1]
	}
	c.smoother = spectrum.NewSmoother(left, c.Options.SmoothOct)
}

// smooth returns the smoothed curve, NaN where left out.
func (c *Comparison) smooth(db []float64) []float64 {
	out := c.smoother.Smooth(nil, db)
	for b, why := range c.LeftOut {
		if why != "" {
			out[b] = math.NaN()
		}
	}
	return out
}

func (c *Comparison) judgedBands() int {
	n := 0
	for _, yes := range c.judged {
		if yes {
			n++
		}
	}
	return n
}

// spread returns the root mean square over the judged bands of a curve with its
// mean removed: the distance, in dB.
func (c *Comparison) spread(db []float64) float64 {
	n := float64(c.judgedBands())
	mean := 0.0
	for b, yes := range c.judged {
		if yes {
			mean += db[b] / n
		}
	}
	square := 0.0
	for b, yes := range c.judged {
		if yes {
			square += (db[b] - mean) * (db[b] - mean) / n
		}
	}
	return math.Sqrt(square)
}

// decibel is PowerToDB with a floor of −300 dB, which is left out anyway.
func decibel(power float64) float64 { return spectrum.PowerToDB(math.Max(power, 1e-30)) }

// referenceName is how a reference is called in reasons.
func referenceName(i, of int) string {
	if of == 1 {
		return "the reference"
	}
	return fmt.Sprintf("reference %d", i+1)
}
