package page

import (
	"strconv"
	"strings"

	"toneplumb/match"
	"toneplumb/match/report"
	"toneplumb/match/words"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// Data is the content of a page, also as JSON: the words as written on the page, and the player's
// numbers.
type Data struct {
	Version    int         `json:"version"`
	Title      string      `json:"title"`      // the headline: what to do, and the distances
	Recordings []Recording `json:"recordings"` // the mix first; none for a drawn curve
	Moves      []Move      `json:"moves"`
	WhyNoMoves string      `json:"why_no_moves"` // "" if there are moves
	Trim       string      `json:"trim"`         // "+2.1 dB"
	TrimReason string      `json:"trim_reason"`
	Findings   []string    `json:"findings"`
	Warnings   []string    `json:"warnings"`
	Player     *Player     `json:"player"`      // null if there is nothing to play
	SoundNotes []string    `json:"sound_notes"` // what can be played, what cannot, and why
}

// Version is the version of Data as JSON.
const Version = 1

// Recording is a recording's figures in words, "" if unknown.
type Recording struct {
	Who      string `json:"who"`  // "mix", "reference 2"
	File     string `json:"file"` // "" if names are left out
	Length   string `json:"length"`
	Format   string `json:"format"`
	Counted  string `json:"counted"` // the passages used, "" for all
	Loudness string `json:"loudness"`
	Range    string `json:"range"`
	TruePeak string `json:"true_peak"`
	CutoffAt string `json:"cutoff_at"` // where the spectrum ends, for example through lossy coding
}

// Move is a row of the table, in the terms of the dials.
type Move struct {
	Number    int    `json:"number"` // from 1
	Shape     string `json:"shape"`
	Frequency string `json:"frequency"`
	Gain      string `json:"gain"`
	Interval  string `json:"interval"` // "" if unknown
	Q         string `json:"q"`
	Width     string `json:"width"`
	Reason    string `json:"reason"`
}

// Label returns a move in one line.
func (m Move) Label() string { return m.Shape + ", " + m.Frequency + ", " + m.Gain }

// NewData returns the content of a page for a result, without a player.
func NewData(r *match.Result) *Data {
	d := &Data{
		Version: Version, Title: report.Headline(r),
		Recordings: []Recording{}, Moves: []Move{}, SoundNotes: []string{},
		Findings: report.Sentences(r), Warnings: report.Remarks(r.Warnings),
	}
	if r.Mix != nil {
		d.Recordings = append(d.Recordings, recordingOf("mix", r.Mix))
		for i, ref := range r.References {
			label := match.ReferenceLabel(i, len(r.References))
			own := recordingOf(label, ref)
			if r.SameSong[i] { // of which only the same moments are compared
				if of := &d.Recordings[0]; of.Counted == "" && ref.Counted != nil {
					of.Counted = "the same moments as of the " + label
				} else if own.Counted == "" && r.Mix.Counted != nil {
					own.Counted = "the same moments as of the mix"
				}
			}
			d.Recordings = append(d.Recordings, own)
		}
	}
	for i, m := range r.Moves {
		d.Moves = append(d.Moves, Move{
			Number: i + 1, Shape: words.Shape(m.Shape), Frequency: words.FormatHz(m.Dial.FreqHz), Gain: words.FormatGain(m.GainDB) + " dB",
			Interval: report.Interval(m), Q: strconv.FormatFloat(m.Q, 'f', 2, 64), Width: report.Width(m), Reason: words.Why(m),
		})
	}
	if len(r.Moves) == 0 {
		d.WhyNoMoves = words.WhyNoMoves(r)
		return d
	}
	d.Trim, d.TrimReason = words.FormatGain(r.TrimDB)+" dB", report.TrimReason(r.TrimLoweredDB)
	if r.Mix == nil {
		d.TrimReason = "the level of the curve"
	}
	return d
}

func recordingOf(who string, r *measure.Recording) Recording {
	d := Recording{
		Who: who, File: report.NameBeside(who, r), Length: audio.Clock(r.DurationSec),
		Format:   report.RateAndChannels(r.Format),
		Loudness: report.Level(r.OwnLUFS(), 1) + " LUFS",
	}
	if r.Counted != nil {
		d.Counted = r.Counted.String()
	}
	if r.Valid() {
		d.Range, d.TruePeak = report.Level(r.RangeLU, 1)+" LU", words.FormatGain(r.TruePeakDBTP)+" dBTP"
	}
	if r.CutoffHz > 0 {
		d.CutoffAt = words.FormatHz(r.CutoffHz)
	}
	return d
}

// chartInWords describes the chart for people who do not see it.
func (d *Data) chartInWords() string {
	text := "Decibels over frequency from 20 Hz to 20 kHz: the levels of mix and reference, their difference and what the moves do. "
	if len(d.Recordings) == 0 {
		text = "Decibels over frequency from 20 Hz to 20 kHz: the curve and what the moves do. "
	}
	if len(d.Findings) > 0 {
		text += d.Findings[0] + " "
	}
	if len(d.Moves) == 0 {
		return text + d.WhyNoMoves
	}
	var all []string
	for _, m := range d.Moves {
		all = append(all, m.Label())
	}
	return text + "Moves: " + strings.Join(all, "; ") + "."
}
