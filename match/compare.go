// Package match finds how the tone of a mix differs from that of reference
// recordings, and which few moves of one equaliser bring it nearer.
//
// Most callers measure the recordings, call [Compare] once and then [Comparison.Solve].
// For a verdict on a finished mix they call [Comparison.Verdict]. Nothing here reads sound,
// so solving again with other options is quick. Level is not tone: every curve, zone and
// distance has its mean over the judged bands removed. The trim restores the loudness.
//
// Curves are slices in dB with an entry for each band of package spectrum. A difference is
// the references' level less the mix's, so it is positive where the mix has too little.
//
// Limits: the difference of two songs is mostly arrangement. The likely range describes the
// measurement alone; the target estimates how much of the difference is tone.
//
// It builds on spectrum/measure and biquad/fit; its subfolders and the command line use it.
package match

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"toneplumb/match/uncertainty"
	"toneplumb/spectrum"
	"toneplumb/spectrum/align"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure"
)

// Comparison is a mix beside its references, measured and aligned, before any
// move. Its curves have an entry for each band of package spectrum.
//
// Its methods only read it, so goroutines may share one. An [Advice] is for one goroutine at
// a time. A [Result] may be read by several, but [Result.Confirm], [Result.SetLead],
// [Result.SetOthers] and [Result.SetSides] change it.
type Comparison struct {
	Mix        *measure.Recording // nil if a drawn curve replaces the recordings
	References []*measure.Recording
	RateHz     float64 // of the equaliser: the mix's sample rate
	Options    CompareOptions

	SameSong []bool // for each reference: whether it is a copy of the mix's song

	// MixDB and ReferenceDB are levels per band in dB for drawing, smoothed over
	// Options.SmoothOct; pink noise is flat. ReferenceDB is the mean of all references.
	// Each has its mean over the judged bands removed. NaN where left out.
	MixDB, ReferenceDB []float64

	// DifferenceDB is the references' level less the mix's, smoothed over
	// [AdviceSmoothOct], with its mean over the judged bands removed. If both are one song,
	// it is over the music they share. All advice, zones and distances come from it.
	// DrawnDB is the same smoothed over Options.SmoothOct. NaN where left out.
	DifferenceDB, DrawnDB []float64

	// LeftOut says why a band is left out of the comparison; the zero value means it is
	// kept. A band is left out too if its smoothing window would reach into one that is.
	// Bands outside Options.RangeHz are not judged, but they are not left out either.
	LeftOut []Exclusion

	Odd *OddReference // makes most of the references' spread; nil if none does

	// LowDB and HighDB are the likely range (95 %) of DifferenceDB if the music had been other
	// stretches of the same kind, as pieces taken in turn are. The halves of a song differ more: a third
	// of them lie outside. ReferenceSpreadDB is half the 95 % band for the mean of other
	// references of this kind, nil for one reference. NaN where left out.
	LowDB, HighDB, ReferenceSpreadDB []float64

	// ConfidenceDB is half the likely range, as the root mean square over bands.
	ConfidenceDB float64

	uncertainty *uncertainty.Scatter // nil for a drawn curve
	compared    []pair               // an entry for each reference, sorted by the references' powers; nil for a drawn curve
	followed    bool                 // exactly: a copy with a difference that a few moves can follow
	judged      spectrum.Judged      // not left out and in range
	excluded    []bool               // left out by a [Cause] of its own: no smoothing window reaches into it
	weighting   []float64            // loudness.Weighting at RateHz; nil for a drawn curve
	mixPower    []float64            // mean band powers of the mix, from the first pair
	referenceDB []float64            // ReferenceDB, but smoothed as DifferenceDB is
	rawDB       []float64            // the difference before smoothing, also where left out
	smoother    *spectrum.Smoother
}

// AdviceSmoothOct is the smoothing in octaves of everything that is advised and judged,
// whatever Options.SmoothOct draws: about the ear's own bandwidth (common practice, no source).
const AdviceSmoothOct = 1.0 / 3

// Compare compares a mix with one or more references. It panics if there is none
// or [CompareOptions.Check] fails. If less than an octave can be judged, it returns an
// [*audio.Error] about the mix.
func Compare(mix *measure.Recording, references []*measure.Recording, o CompareOptions) (*Comparison, error) {
	c, pairs, refLevels, err := subtract(mix, references, o)
	if err != nil {
		return nil, err
	}
	c.compared = pairs
	c.uncertainty = uncertainty.Measure(c.blocks(), c.bands())
	c.setBands(refLevels)
	c.Odd, c.followed = c.oddOne(), c.fewMovesFollow()
	return c, nil
}

// subtract builds the Comparison without its uncertainty. It also returns the
// mix–reference pairs, sorted, and each reference's level in dB per band.
func subtract(mix *measure.Recording, references []*measure.Recording, o CompareOptions) (c *Comparison, pairs []pair, refLevels [][]float64, err error) {
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
	// Sort the pairs, so that sums and draws do not depend on the order of the references.
	slices.SortStableFunc(pairs, func(p, q pair) int { return slices.Compare(p.reference, q.reference) })
	c.mixPower = pairs[0].mix
	c.judge(AdviceSmoothOct)
	mixDB, refDB := make([]float64, spectrum.BandCount), make([]float64, spectrum.BandCount)
	for _, p := range pairs {
		refLevels = append(refLevels, c.levels(p.reference))
		addMean(mixDB, c.levels(p.mix), len(pairs))
		addMean(refDB, refLevels[len(refLevels)-1], len(pairs))
	}
	c.rawDB = make([]float64, spectrum.BandCount)
	for b := range c.rawDB {
		c.rawDB[b] = refDB[b] - mixDB[b]
	}
	if c.judged.Count() < spectrum.BandsPerOctave {
		return nil, nil, nil, &audio.Error{Kind: finding.NothingToCompare, Path: mix.Path,
			Problem: "has less than an octave that can be compared with the reference",
			Hint:    "check that both are whole recordings of music, and widen the range"}
	}
	drawn := c.smoother
	if o.SmoothOct != AdviceSmoothOct {
		drawn = spectrum.NewSmoother(c.excluded, o.SmoothOct)
	}
	c.judged.Centre(c.rawDB)
	c.DifferenceDB, c.referenceDB = c.smooth(c.rawDB), c.smooth(refDB)
	c.DrawnDB, c.MixDB, c.ReferenceDB = c.smoothed(drawn, c.rawDB), c.smoothed(drawn, mixDB), c.smoothed(drawn, refDB)
	return c, pairs, refLevels, nil
}

// pair holds the mean band powers of the mix and of one reference.
type pair struct {
	uncertainty.Pair                    // both in blocks
	of               *measure.Recording // the reference
	copied           align.Copy
	mixWeights       []float64 // weight of each row, 0 to 1
	refWeights       []float64
	mix, reference   []float64
}

// pairs returns the mean powers of the mix and each reference, over the rows that pass each
// recording's gate. For a copy of the mix's song, both means are over the music they share.
func (c *Comparison) pairs() []pair {
	var all []pair
	mixGate, wholeMix := c.Mix.GateWeights(), wholeGate(c.Mix)
	for _, ref := range c.References {
		mixWeights, refWeights := mixGate, ref.GateWeights()
		copied := align.Levels(c.Mix, ref, wholeMix, wholeGate(ref))
		if copied.Same {
			m, r := align.GateTogether(mixWeights, refWeights, copied.LagSec)
			if floats.Sum(m) >= measure.MinSec { // else different passages of one song are compared
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

// blocks returns the compared pairs cut into blocks.
func (c *Comparison) blocks() []uncertainty.Pair {
	var all []uncertainty.Pair
	for _, p := range c.compared {
		all = append(all, p.Pair)
	}
	return all
}

// bands returns the bands, zones and smoother over which uncertainty is computed.
func (c *Comparison) bands() uncertainty.Bands {
	left := make([]bool, len(c.LeftOut))
	for b, why := range c.LeftOut {
		left[b] = why.Cause != Kept
	}
	return uncertainty.Bands{Judged: c.judged, LeftOut: left, Smoother: c.smoother, Zones: c.judgedBandsOf(Zones())}
}

// wholeGate returns the gate of a recording, ignoring any choice of passages.
func wholeGate(r *measure.Recording) []float64 {
	whole := *r
	whole.Counted = nil
	return whole.GateWeights()
}

// setBands sets LowDB, HighDB, ReferenceSpreadDB and ConfidenceDB from each reference's level
// in dB per band, which it smooths in place.
func (c *Comparison) setBands(refLevels [][]float64) {
	for i := range refLevels {
		refLevels[i] = c.smoother.Smooth(nil, refLevels[i])
	}
	c.ReferenceSpreadDB = uncertainty.ReferenceSpread(refLevels, c.bands())
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

// leaveOut adds the exclusions of bands that have none yet.
func (c *Comparison) leaveOut(why []Exclusion) {
	for b, reason := range why {
		if c.LeftOut[b].Cause == Kept {
			c.LeftOut[b] = reason
		}
	}
}

// levels returns band powers in dB, at least −300.
func (c *Comparison) levels(power []float64) []float64 {
	db := make([]float64, len(power))
	for b, p := range power {
		db[b] = decibel(p)
	}
	return db
}

// addMean adds one of n curves to their mean in place.
func addMean(mean, db []float64, n int) {
	for b, v := range db {
		mean[b] += v / float64(n)
	}
}

// Smoother returns what smooths the difference that is advised on.
func (c *Comparison) Smoother() *spectrum.Smoother { return c.smoother }

// judge sets the judged bands and the smoother. It also leaves out bands whose smoothing
// window would reach into a band left out so far. A shorter window there would compare single
// notes, up to 7 dB from a full third of an octave.
func (c *Comparison) judge(smoothOct float64) {
	c.excluded = make([]bool, len(c.LeftOut))
	for b, why := range c.LeftOut {
		c.excluded[b] = why.Cause != Kept
	}
	c.smoother = spectrum.NewSmoother(c.excluded, smoothOct)
	reach := int(math.Round(smoothOct * spectrum.BandsPerOctave / 2))
	for b := range c.LeftOut {
		for near := max(0, b-reach); near <= min(b+reach, len(c.LeftOut)-1) && !c.excluded[b]; near++ {
			if c.excluded[near] {
				c.LeftOut[b] = c.LeftOut[near]
			}
		}
	}
	c.judged = nil
	c.judged = c.Judged()
}

// smooth returns a curve smoothed over [AdviceSmoothOct], its mean removed; NaN where left out.
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

// ReferenceLabel returns "reference", or "reference 2" for i = 1 of several; i counts from 0.
func ReferenceLabel(i, of int) string {
	if of == 1 {
		return "reference"
	}
	return fmt.Sprintf("reference %d", i+1)
}
