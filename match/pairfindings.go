package match

import (
	"math"
	"slices"

	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure"
)

// Side is one of the recordings of a comparison.
type Side struct {
	Number int // of a reference, from 1; 0 for the mix
	Of     int // number of references
}

// IsMix reports whether the side is the mix.
func (s Side) IsMix() bool { return s.Number == 0 }

// Figure is a value that belongs to one side.
type Figure struct {
	Side  Side
	Value float64
}

// figures returns a figure of each side that has one, the mix first. of takes 0 for the mix and
// 1 up for the references.
func (c *Comparison) figures(of func(i int) (value float64, has bool)) []Figure {
	var all []Figure
	for i := range len(c.References) + 1 {
		if v, has := of(i); has {
			all = append(all, Figure{Side{i, len(c.References)}, v})
		}
	}
	return all
}

const (
	// swappedLU is by how much louder than its reference a mix may have been swapped with it.
	// Our choice: finished records are louder than rough mixes.
	swappedLU = 4
	// thinSec is the music below which a recording's tone is a phrase's rather than a song's.
	// Measured: halves of a song differ by 6.7 dB rms at 10 s and by 2.6 at 80 s.
	thinSec = 60
	// clippedFrom is the number of places from which a mix is clipped. Our choice: one may be the peak of a mix that
	// was brought to full scale.
	clippedFrom = 2
)

// findings returns the findings about the recordings themselves, independent of the moves.
func (c *Comparison) findings() finding.List {
	all := c.fileRemarks()
	if lu := -c.levelDifferenceDB(); lu > swappedLU {
		all = append(all, Swapped{lu, len(c.References)})
	}
	sides := c.sides()
	if thin := c.figures(func(i int) (float64, bool) { sec := sides[i].MusicSec(); return sec, sec < thinSec }); thin != nil {
		all = append(all, ShortMusic{thin})
	}
	if mono := c.mono(); len(mono) > 0 && len(mono) < len(sides) {
		all = append(all, Mono{mono})
	}
	if n := c.Mix.ClippedPlaces; n >= clippedFrom {
		all = append(all, Clipped{n})
	}
	if m, is := mastered(c.Mix, c.References); is {
		all = append(all, m)
	}
	if lows, are := c.missingLows(); are {
		all = append(all, lows)
	}
	if c.Odd != nil {
		all = append(all, *c.Odd)
	}
	if low, has := c.lowPass(); has {
		all = append(all, low)
	}
	return all
}

// sides returns the mix and the references.
func (c *Comparison) sides() []*measure.Recording {
	return append([]*measure.Recording{c.Mix}, c.References...)
}

// levelDifferenceDB returns the mean loudness of the references less that of the mix in LU, as heard.
func (c *Comparison) levelDifferenceDB() float64 {
	heard := func(r *measure.Recording) float64 { return r.LoudnessLUFS + loudness.HeardDB(r.Format.Channels) }
	mean := 0.0
	for i, ref := range c.References {
		mean += (heard(ref) - mean) / float64(i+1)
	}
	return mean - heard(c.Mix)
}

// Swapped says that the mix is LU louder than the references, so that they may be swapped.
type Swapped struct {
	LU         float64
	References int
}

func (Swapped) Code() string               { return "swapped" }
func (Swapped) Severity() finding.Severity { return finding.Warning }

// ShortMusic lists the sides that hold less than a minute of music.
type ShortMusic struct{ Sec []Figure }

func (ShortMusic) Code() string               { return "short-music" }
func (ShortMusic) Severity() finding.Severity { return finding.Caution }

// Clipped says in how many places the mix is clipped, as [measure.Programme] counts them. References often are, and
// nothing can be done about it.
type Clipped struct{ Places int }

func (Clipped) Code() string               { return "clipped" }
func (Clipped) Severity() finding.Severity { return finding.Caution }

// Mono lists the sides that are mono while others are not. Stereo width is compared with the references
// that are not; if there are none, or the mix is mono, nothing is said about it.
type Mono struct{ Sides []Side }

func (Mono) Code() string               { return "mono" }
func (Mono) Severity() finding.Severity { return finding.Caution }

// mono returns the sides that are mono.
func (c *Comparison) mono() (all []Side) {
	for i, r := range c.sides() {
		if r.Stereo().IsMono() {
			all = append(all, Side{i, len(c.References)})
		}
	}
	return all
}

// FileRemark is a remark by the reader of a file, with all sides that have the same.
type FileRemark struct {
	Sides []Side
	audio.Remark
}

// MoreFileRemarks counts the remarks on references after the first mostRemarks.
type MoreFileRemarks struct{ Count int }

func (MoreFileRemarks) Code() string               { return "more-files" }
func (MoreFileRemarks) Severity() finding.Severity { return finding.Caution }

// mostRemarks is how many remarks on references are passed on. Our choice: as many as anybody
// looks up one by one.
const mostRemarks = 5

// fileRemarks returns what the readers of the files say, but for lost moments.
func (c *Comparison) fileRemarks() finding.List {
	var all finding.List
	for _, remark := range c.Mix.Warnings {
		if !remark.IsMoment() {
			all = append(all, FileRemark{[]Side{{0, len(c.References)}}, remark})
		}
	}
	var remarks []FileRemark
	for i, ref := range c.References {
		for _, remark := range ref.Warnings {
			if remark.IsMoment() {
				continue
			}
			side := Side{i + 1, len(c.References)}
			k := slices.IndexFunc(remarks, func(r FileRemark) bool { return r.Remark == remark && !slices.Contains(r.Sides, side) })
			if k < 0 {
				remarks = append(remarks, FileRemark{Remark: remark})
				k = len(remarks) - 1
			}
			remarks[k].Sides = append(remarks[k].Sides, side)
		}
	}
	for _, r := range remarks[:min(mostRemarks, len(remarks))] {
		all = append(all, r)
	}
	if more := len(remarks) - mostRemarks; more > 0 {
		all = append(all, MoreFileRemarks{more})
	}
	return all
}

// LowPass lists the sides that stop inside the range, as lossy coding or resampling leaves
// them.
type LowPass struct {
	Hz         []Figure // where each stops
	JudgedToHz float64  // nothing is judged above; 0 if something else sets that limit
}

func (LowPass) Code() string               { return "low-pass" }
func (LowPass) Severity() finding.Severity { return finding.Info }

func (c *Comparison) lowPass() (found LowPass, has bool) {
	const band = 1.03 // a cutoff within a band of the range's end does not matter
	sides := c.sides()
	found.Hz = c.figures(func(i int) (float64, bool) {
		hz := sides[i].CutoffHz
		return hz, hz > 0 && hz/cutoffMargin*band <= c.Options.RangeHz[1]
	})
	_, top := c.JudgedHz()
	if slices.ContainsFunc(c.LeftOutSpans(), func(s LeftOutSpan) bool { return s.LowHz == top && s.Why.Cause == StopsThere }) {
		found.JudgedToHz = top
	}
	return found, found.Hz != nil
}

// MissingLows says that below BelowHz one side has LessDB less than the other, which no
// equaliser can restore.
type MissingLows struct {
	OfMix           bool // the mix lacks them; else the references do
	BelowHz, LessDB float64
	References      int
}

func (MissingLows) Code() string { return "missing-lows" }

func (m MissingLows) Severity() finding.Severity {
	if m.OfMix {
		return finding.Caution
	}
	return finding.Info
}

func (c *Comparison) missingLows() (lows MissingLows, are bool) {
	const leastDB = 6 // our choice: half the gate of leftOut; less is arrangement
	sum, n := 0.0, 0.0
	for b, missing := range c.excluded {
		if hz := spectrum.CentreHz(b); missing && hz < lowsBelowHz && hz >= c.Options.RangeHz[0] {
			sum, n, lows.BelowHz = sum+c.rawDB[b], n+1, spectrum.EdgeHz(b+1)
		}
	}
	lows.OfMix, lows.LessDB, lows.References = sum > 0, math.Abs(sum)/n, len(c.References)
	return lows, lows.LessDB >= leastDB // false for NaN
}

// MasteredDB is the difference in peak to loudness beyond which a limiter is likely. Common
// practice, no source, from memory.
const MasteredDB = 4

// Mastered says that the references' peak to loudness is much smaller than the mix's, as a
// limiter leaves it. The references' is their mean, over whole recordings.
type Mastered struct {
	ReferenceDB, MixDB float64 // peak to loudness
	References         int     // number of references
}

func (Mastered) Code() string               { return "mastered" }
func (Mastered) Severity() finding.Severity { return finding.Caution }

// mastered reports whether the references are mastered; false if a loudness or peak is unknown.
func mastered(mix *measure.Recording, references []*measure.Recording) (m Mastered, is bool) {
	if len(references) == 0 || !mix.Valid() {
		return m, false
	}
	for i, r := range references {
		if !r.Valid() {
			return m, false
		}
		m.ReferenceDB += (r.PeakToLoudnessDB() - m.ReferenceDB) / float64(i+1)
	}
	m.MixDB, m.References = mix.PeakToLoudnessDB(), len(references)
	return m, m.MixDB-m.ReferenceDB > MasteredDB
}

// LagSec returns by how many seconds the mix runs behind a reference that is a copy of its song.
func (c *Comparison) LagSec(reference int) float64 { return c.compared[reference].copied.LagSec }
