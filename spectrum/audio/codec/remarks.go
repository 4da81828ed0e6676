package codec

import (
	"fmt"
	"math"

	"toneplumb/spectrum/finding"
)

// Remark is a finding by the reader of a file: its kind and those of the figures that the kind has. Package
// match/words has the sentence for each.
type Remark struct {
	Kind    RemarkKind `json:"code"`
	AtSec   float64    `json:"at_s,omitempty"`   // where, in s from the start; or how much was read
	LostSec float64    `json:"lost_s,omitempty"` // sound that is missing or silent, in s
	OfSec   float64    `json:"of_s,omitempty"`   // length that the file announces, in s; 0 if it does not say
	Count   int64      `json:"count,omitempty"`
	Text    string     `json:"text,omitempty"` // another program's words
}

// Code implements [finding.Finding].
func (r Remark) Code() string { return string(r.Kind) }

// Severity implements [finding.Finding].
func (Remark) Severity() finding.Severity { return finding.Caution }

// IsMoment reports whether the remark is that a recording of minutes stops a moment early, as exports that round leave
// it: that changes nothing about its tone.
func (r Remark) IsMoment() bool {
	const momentSec, minuteSec = 0.1, 60 // our choice
	return r.Kind == StopsEarly && r.LostSec < momentSec && r.OfSec >= minuteSec
}

// RemarkKind identifies a kind of remark in JSON; it never changes.
type RemarkKind string

// The kinds, with the figures they have.
const (
	StopsEarly       RemarkKind = "stops-early"        // AtSec, LostSec, OfSec
	CutOff           RemarkKind = "cut-off"            // AtSec
	NoEndMark        RemarkKind = "no-end-mark"        // AtSec
	NoStart          RemarkKind = "no-start"           // sound before the first page
	SoundMissing     RemarkKind = "sound-missing"      // LostSec, OfSec if known, Count of places; 0: unknown places
	Silenced         RemarkKind = "silenced"           // LostSec, the first of it AtSec
	BadSamples       RemarkKind = "bad-samples"        // Count of samples that are not numbers or beyond [MaxSample]
	OnlyFirst        RemarkKind = "only-first"         // of several recordings in a row, AtSec long
	SideBySide       RemarkKind = "side-by-side"       // Count of recordings, of which the first is read
	FormatChanges    RemarkKind = "format-changes"     // AtSec: rate or channels
	DecodersDiffer   RemarkKind = "decoders-differ"    // Count of steps of 16 bits
	Speech           RemarkKind = "speech"             // decoded roughly
	SpeechDamaged    RemarkKind = "speech-damaged"     // decoded roughly, and no other decoder keeps its place
	FFmpegStopped    RemarkKind = "ffmpeg-stopped"     // AtSec, Text
	FFmpegComplains  RemarkKind = "ffmpeg-complains"   // Text
	FrontPair        RemarkKind = "front-pair"         // of Count channels two are judged
	DecodedByBrowser RemarkKind = "decoded-by-browser" // Count: the rate in Hz
	Quoted           RemarkKind = "file"               // Text, from a profile that has no codes
)

// Kinds are all kinds of remarks.
var Kinds = []RemarkKind{StopsEarly, CutOff, NoEndMark, NoStart, SoundMissing, Silenced, BadSamples, OnlyFirst, SideBySide, FormatChanges,
	DecodersDiffer, Speech, SpeechDamaged, FFmpegStopped, FFmpegComplains, FrontPair, DecodedByBrowser, Quoted}

// At returns a remark about a place in a recording, given in frames.
func At(kind RemarkKind, frames int64, rateHz int) Remark {
	return Remark{Kind: kind, AtSec: seconds(frames, rateHz)}
}

// Lost returns a remark about lost frames of sound, the first of them at a position.
func Lost(kind RemarkKind, at, lost int64, rateHz int) Remark {
	return Remark{Kind: kind, AtSec: seconds(at, rateHz), LostSec: seconds(lost, rateHz)}
}

// StopsAt returns the remark on a recording that ends after got of its announced frames.
func StopsAt(got, announced int64, rateHz int) Remark {
	r := Lost(StopsEarly, got, announced-got, rateHz)
	r.OfSec = seconds(announced, rateHz)
	return r
}

// MissingIn returns the remark on sound that is missing at a number of places. announced is the number of frames that
// the file announces, -1 if it does not say, and read how many of them were read.
func MissingIn(places int, read, announced int64, rateHz int) Remark {
	if announced < 0 {
		return Remark{Kind: SoundMissing, Count: int64(places)}
	}
	return Remark{Kind: SoundMissing, Count: int64(places), LostSec: seconds(announced-read, rateHz), OfSec: seconds(announced, rateHz)}
}

// seconds returns frames in seconds, in whole tenths of a millisecond, as profiles keep them.
func seconds(frames int64, rateHz int) float64 {
	const perSec = 10000
	return math.Floor(float64(frames)*perSec/float64(rateHz)) / perSec
}

// Clock formats a time in seconds as m:ss or h:mm:ss, rounded down.
func Clock(sec float64) string {
	s := int64(math.Max(0, sec))
	if s >= 3600 {
		return fmt.Sprintf("%d:%02d:%02d", s/3600, s/60%60, s%60)
	}
	return fmt.Sprintf("%d:%02d", s/60, s%60)
}
