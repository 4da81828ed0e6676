// Package match finds how the tone of a mix differs from that of reference
// recordings and which few moves of one equaliser take it there.
//
// The path most callers need: measure the recordings, Compare them once, Solve
// for the moves. Nothing here reads sound, so solving again with other options is
// quick. Level is not tone: every curve, zone and distance has its mean over what is
// judged removed. Loudness has a figure of its own, the trim.
//
// Limits: the difference of two songs is mostly arrangement. The likely range is the
// measurement's; the target is an estimate of how much of the difference is tone.
//
// It builds on spectrum/measure and biquad/fit; the
// packages in its folder and the command line use it.
package match

import (
	"fmt"
	"math"
	"slices"

	"toneplumb/match/uncertainty"
	"toneplumb/spectrum"
	"toneplumb/spectrum/align"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure"
)

// Comparison is a mix beside its references, measured and aligned, before any
// move. All slices have an entry for each band of package spectrum.
//
// Its methods only read it: goroutines may share a Comparison, and each may ask for
// moves or set its own. An [Advice] keeps what it found and is for one goroutine at a
// time; a [Result] may be read by several, and [Result.Confirm] changes it.
type Comparison struct {
	Mix        *measure.Recording // nil where a drawn curve stands in for a comparison
	References []*measure.Recording
	RateHz     float64 // at which the equaliser runs: the mix's
	Options    CompareOptions

	SameSong []bool // for each reference: it is a copy of the mix's song

	// MixDB and ReferenceDB are levels per band in dB for drawing, smoothed over
	// Options.SmoothOct, with pink noise flat; of several references the mean. Each
	// has its mean over the judged bands removed. NaN where left out.
	MixDB, ReferenceDB []float64

	// DifferenceDB is the references' level less the mix's, smoothed over
	// AdviceSmoothOct, over the same music where both are one song, with its mean over
	// the judged bands removed. All advice, zones and distances are taken from it.
	// DrawnDB is the same smoothed over Options.SmoothOct. NaN where left out.
	DifferenceDB, DrawnDB []float64

	// LeftOut says why a band is left out of the comparison; its zero value where it is
	// not. Outside Options.RangeHz a band is not judged, but not left out either. A band
	// is left out too where its smoothing window would reach into one that is.
	LeftOut []Exclusion

	// Odd is the reference that makes most of the references' spread, nil where none does.
	Odd *OddReference

	// LowDB and HighDB bound DifferenceDB by what 19 of 20 measurements of the same
	// music would give; ReferenceSpreadDB is half the band within which the mean of other
	// references of this kind would lie, nil for one reference. NaN where left out.
	LowDB, HighDB, ReferenceSpreadDB []float64

	// ConfidenceDB is half the measurement's band, the root of its mean square.
	ConfidenceDB float64

	uncertainty *uncertainty.Scatter // nil for a drawn curve
	compared    []pair               // what was compared, an entry a reference, in an order of their own; nil for a drawn curve
	judged      spectrum.Judged      // not left out and in range
	unread      []bool               // left out for a reason of its own: no window may reach into it
	weighting   []float64            // loudness.Weighting at RateHz; nil: not worked out yet
	mixPower    []float64            // mean band powers of the mix, beside one of the references
	rawDB       []float64            // the difference before smoothing, where left out too
	smoother    *spectrum.Smoother
}

// AdviceSmoothOct is the smoothing in octaves of everything that is advised and
// judged, whatever is drawn: about the ear's own bandwidth (common practice, no source).
const AdviceSmoothOct = 1.0 / 3

// Compare compares a mix with one or more references. It panics if there is none
// or an option fails its Check. It refuses, with an *audio.Error about the mix, a
// pair in which less than an octave can be judged.
func Compare(mix *measure.Recording, references []*measure.Recording, o CompareOptions) (*Comparison, error) {
	c, pairs, each, err := subtract(mix, references, o)
	if err != nil {
		return nil, err
	}
	c.compared = pairs
	c.uncertainty = uncertainty.Measure(c.blocks(), c.bands())
	c.setBands(each)
	c.Odd = c.oddOne()
	return c, nil
}

// subtract builds the Comparison without its uncertainty. It also returns the
// mix–reference pairs, sorted, and each reference's level in dB per band.
func subtract(mix *measure.Recording, references []*measure.Recording, o CompareOptions) (c *Comparison, pairs []pair, each [][]float64, err error) {
	if err := o.Check(); err != nil || len(references) == 0 {
		panic("match: a comparison needs a reference and sound options")
	}
	c = &Comparison{Mix: mix, References: references, RateHz: float64(mix.Format.RateHz), Options: o}
	c.weighting = loudness.Weighting(spectrum.Centres(), c.RateHz)
	pairs = c.pairs()
	c.LeftOut = make([]Exclusion, spectrum.BandCount)
	for i, p := range pairs {
		c.leaveOut(leftOut(Side{0, len(pairs)}, mix, p.mix))
		c.leaveOut(leftOut(Side{i + 1, len(pairs)}, references[i], p.reference))
	}
	// From here in an order of their own, so that sums and draws do not depend on the
	// order in which references were named.
	slices.SortStableFunc(pairs, func(p, q pair) int { return slices.Compare(p.reference, q.reference) })
	c.mixPower = pairs[0].mix
	c.judge(AdviceSmoothOct)
	mixDB, refDB := make([]float64, spectrum.BandCount), make([]float64, spectrum.BandCount)
	for _, p := range pairs {
		each = append(each, c.levels(p.reference))
		addMean(mixDB, c.levels(p.mix), len(pairs))
		addMean(refDB, each[len(each)-1], len(pairs))
	}
	c.rawDB = make([]float64, spectrum.BandCount)
	for b := range c.rawDB {
		c.rawDB[b] = refDB[b] - mixDB[b]
	}
	if c.judged.Count() < spectrum.BandsPerOctave {
		return nil, nil, nil, &audio.Error{Path: mix.Path,
			Problem: "has less than an octave that can be compared with the reference",
			Hint:    "check that both are whole recordings of music, and widen the range"}
	}
	drawn := c.smoother
	if o.SmoothOct != AdviceSmoothOct {
		drawn = spectrum.NewSmoother(c.unread, o.SmoothOct)
	}
	c.judged.Centre(c.rawDB)
	c.DifferenceDB = c.smoothed(c.smoother, c.rawDB)
	c.DrawnDB, c.MixDB, c.ReferenceDB = c.smoothed(drawn, c.rawDB), c.smoothed(drawn, mixDB), c.smoothed(drawn, refDB)
	return c, pairs, each, nil
}

// pair holds the mean band powers of the mix and of one reference.
type pair struct {
	uncertainty.Pair                    // both in blocks
	of               *measure.Recording // the reference
	copied           align.Copy
	mixWeights       []float64 // how much of each row counts
	refWeights       []float64
	mix, reference   []float64
}

// pairs returns the mean powers of each reference and of the mix: over what passes
// the gate of each, and of a copy of the mix's song over the music they share.
func (c *Comparison) pairs() []pair {
	var all []pair
	mixGate, wholeMix := c.Mix.GateWeights(), wholeGate(c.Mix)
	for _, ref := range c.References {
		mixWeights, refWeights := mixGate, ref.GateWeights()
		copied := align.Levels(c.Mix, ref, wholeMix, wholeGate(ref))
		if copied.Same {
			m, r := align.GateTogether(mixWeights, refWeights, copied.LagSec)
			if sum(m) >= measure.MinSec { // else other passages of one song are compared
				mixWeights, refWeights = m, r
			} else {
				copied.Same = false
			}
		}
		c.SameSong = append(c.SameSong, copied.Same)
		p := pair{of: ref, copied: copied, mixWeights: mixWeights, refWeights: refWeights,
			mix: c.Mix.MeanPower(mixWeights), reference: ref.MeanPower(refWeights),
			Pair: uncertainty.Cut(c.Mix, ref, mixWeights, refWeights, copied)}
		all = append(all, p)
	}
	return all
}

// blocks returns the pairs in blocks.
func (c *Comparison) blocks() []uncertainty.Pair {
	var all []uncertainty.Pair
	for _, p := range c.compared {
		all = append(all, p.Pair)
	}
	return all
}

// bands says what the uncertainty is taken over.
func (c *Comparison) bands() uncertainty.Bands {
	left := make([]bool, len(c.LeftOut))
	for b, why := range c.LeftOut {
		left[b] = why.Cause != Kept
	}
	return uncertainty.Bands{Judged: c.judged, LeftOut: left, Smoother: c.smoother, Zones: c.judgedBandsOf(Zones())}
}

// wholeGate returns the gate of a recording of which all counts.
func wholeGate(r *measure.Recording) []float64 {
	whole := *r
	whole.Counted = nil
	return whole.GateWeights()
}

func sum(x []float64) float64 {
	total := 0.0
	for _, v := range x {
		total += v
	}
	return total
}

// setBands sets how sure the difference is, given the level of each reference.
func (c *Comparison) setBands(each [][]float64) {
	for i := range each {
		each[i] = c.smoother.Smooth(nil, each[i])
	}
	c.ReferenceSpreadDB = uncertainty.ReferenceSpread(each, c.bands())
	c.LowDB, c.HighDB = make([]float64, spectrum.BandCount), make([]float64, spectrum.BandCount)
	for b, d := range c.DifferenceDB {
		half := uncertainty.Factor95 * c.uncertainty.SDDB[b]
		c.LowDB[b], c.HighDB[b] = d-half, d+half
		if c.LeftOut[b].Cause != Kept && c.ReferenceSpreadDB != nil {
			c.ReferenceSpreadDB[b] = math.NaN()
		}
	}
	c.ConfidenceDB = uncertainty.Factor95 * c.uncertainty.MeanDB()
}

// leaveOut adds reasons where there is none yet.
func (c *Comparison) leaveOut(why []Exclusion) {
	for b, reason := range why {
		if c.LeftOut[b].Cause == Kept {
			c.LeftOut[b] = reason
		}
	}
}

// levels returns band powers in dB.
func (c *Comparison) levels(power []float64) []float64 {
	db := make([]float64, len(power))
	for b, p := range power {
		db[b] = decibel(p)
	}
	return db
}

// addMean adds one of n curves to their mean.
func addMean(mean, db []float64, n int) {
	for b, v := range db {
		mean[b] += v / float64(n)
	}
}

// judge sets what is judged and the smoother over so many octaves, and leaves out the
// bands whose smoothing window would reach into what is left out so far: a shorter
// window there would compare single notes, up to 7 dB from a full third of an octave.
func (c *Comparison) judge(smoothOct float64) {
	c.unread = make([]bool, len(c.LeftOut))
	for b, why := range c.LeftOut {
		c.unread[b] = why.Cause != Kept
	}
	c.smoother = spectrum.NewSmoother(c.unread, smoothOct)
	reach := int(math.Round(smoothOct * spectrum.BandsPerOctave / 2))
	for b := range c.LeftOut {
		for near := max(0, b-reach); near <= min(b+reach, len(c.LeftOut)-1) && !c.unread[b]; near++ {
			if c.unread[near] {
				c.LeftOut[b] = c.LeftOut[near]
			}
		}
	}
	c.judged = nil
	c.judged = c.Judged()
}

// smooth returns a curve smoothed over AdviceSmoothOct, with its mean over the judged
// bands removed; NaN where left out.
func (c *Comparison) smooth(db []float64) []float64 { return c.smoothed(c.smoother, db) }

func (c *Comparison) smoothed(by *spectrum.Smoother, db []float64) []float64 {
	out := by.Smooth(nil, db)
	for b, why := range c.LeftOut {
		if why.Cause != Kept {
			out[b] = math.NaN()
		}
	}
	c.judged.Centre(out)
	return out
}

// decibel is PowerToDB with a floor of −300 dB, which is left out anyway.
func decibel(power float64) float64 { return spectrum.PowerToDB(math.Max(power, 1e-30)) }

// ReferenceLabel is how a reference is called before its name.
func ReferenceLabel(i, of int) string {
	if of == 1 {
		return "reference"
	}
	return fmt.Sprintf("reference %d", i+1)
}
