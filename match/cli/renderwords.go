package cli

import (
	"fmt"
	"io"
	"math"

	"toneplumb/match"
	"toneplumb/match/listen"
	"toneplumb/match/report"
	"toneplumb/match/words"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
)

const (
	// confirmedLU is the largest difference taken for equal; our choice: a tenth of the 0.2 LU
	// within which levels are compared (common practice, no source).
	confirmedLU = 0.02
	// roundedLU is the largest difference that a trim in tenths of a dB leaves.
	roundedLU = confirmedLU + 0.05
)

func (r *rendering) writeText(w io.Writer) error {
	t := &report.TextReport{}
	if o := r.options; o.hasMix {
		t.File("mix", o.mix, fmt.Sprintf("%s  %s", audio.Clock(r.mixSec()), report.FormatWords(r.Format)))
	}
	moves := words.Count(len(r.settings.Moves), "move")
	t.File("settings", r.options.settings, fmt.Sprintf("%s, trim %s dB", moves, words.FormatGain(r.settings.TrimDB)))
	t.WriteString("\n")
	if r.options.hasMix {
		t.Paragraph("", r.loudnessWords())
		t.Paragraph("", fmt.Sprintf("True peak after: %s dBTP.", words.FormatGain(r.Check.TruePeakAfterDBTP)))
	}
	t.Warnings(words.Findings(r.findings()))
	for _, out := range r.outputs() {
		fmt.Fprintf(t, "wrote %s: %s\n", report.Printable(out.File), out.words())
	}
	return t.WriteOut(w)
}

func (r *rendering) mixSec() float64 { return float64(r.Check.Frames) / float64(r.Format.RateHz) }

// loudnessWords says whether the trim has kept the loudness, and which trim would.
func (r *rendering) loudnessWords() string {
	c := r.Check
	text := fmt.Sprintf("Loudness: %s LUFS before, %s after", report.Level(c.LoudnessBeforeLUFS, 2), report.Level(c.LoudnessAfterLUFS, 2))
	if math.IsInf(c.LoudnessAfterLUFS, -1) {
		return text + ": the settings leave nothing to be heard."
	}
	change := c.ChangeLU()
	apart := math.Abs(change)
	side := "louder"
	if change < 0 {
		side = "quieter"
	}
	switch {
	case apart <= confirmedLU:
		return fmt.Sprintf("%s: equal within %.2f LU.", text, confirmedLU)
	case apart <= roundedLU:
		return fmt.Sprintf("%s: %.2f LU %s, no more than a trim in tenths of a dB leaves.", text, apart, side)
	}
	return fmt.Sprintf("%s: %.2f LU %s. For equal loudness set the trim to %s dB.", text, apart, side, words.FormatGain(r.settings.TrimDB-change))
}

// findings returns what to watch out for.
func (r *rendering) findings() finding.List {
	if !r.options.hasMix {
		return listen.ImpulseFindings(r.settings, r.impulseRateHz)
	}
	return r.Plan.Findings(r.settings, r.options.sound != "").With(r.remarks(match.Side{Of: 1})...)
}

// remarks returns the findings about the file that was read.
func (r *rendering) remarks(side match.Side) finding.List {
	var all finding.List
	for _, text := range r.warnings {
		all = append(all, match.FileRemark{Sides: []match.Side{side}, Text: text})
	}
	return all
}

// renderOutput describes a file that was written.
type renderOutput struct {
	File     string `json:"file"`
	Holds    string `json:"holds"`
	Samples  string `json:"samples"`
	Dithered bool   `json:"dithered"`
	RateHz   int    `json:"rate_hz"`
	Channels int    `json:"channels"`
	Frames   int64  `json:"frames"`
}

func (o renderOutput) words() string {
	dithered := ""
	if o.Dithered {
		dithered = ", dithered"
	}
	if o.Holds == impulseResponse {
		return fmt.Sprintf("%s of %.3f s, %g kHz, %s", o.Holds, float64(o.Frames)/float64(o.RateHz), float64(o.RateHz)/1000, o.Samples)
	}
	return o.Samples + dithered
}

const impulseResponse = "impulse response"

func (r *rendering) outputs() []renderOutput {
	var all []renderOutput
	if path := r.options.sound; path != "" {
		all = append(all, renderOutput{path, "sound", r.Depth.String(), r.Dithered, r.Format.RateHz, r.Format.Channels, r.Check.Frames})
	}
	if path := r.options.impulse; path != "" {
		all = append(all, renderOutput{path, impulseResponse, audio.Float32.String(), false, r.impulseRateHz, 1, r.impulseFrames})
	}
	return all
}

// renderDocument is the document of render --json. Names are written in full; fields that do not
// apply are null.
type renderDocument struct {
	Version        int                     `json:"version"`
	Mix            *renderMixDocument      `json:"mix"`
	Reference      *renderMixDocument      `json:"reference,omitempty"` // with --reference, instead of mix and settings
	Levelled       *levelledDocument       `json:"levelled,omitempty"`
	Settings       *renderSettingsDocument `json:"settings"`
	Plan           *renderPlanDocument     `json:"plan,omitempty"` // instead of settings
	LoudnessBefore *report.Number          `json:"loudness_before_lufs"`
	LoudnessAfter  *report.Number          `json:"loudness_after_lufs"`
	TruePeakAfter  *report.Number          `json:"true_peak_after_dbtp"`
	ClippedFrames  *int64                  `json:"clipped_frames"` // frames beyond full scale
	Outputs        []renderOutput          `json:"outputs"`
	Warnings       []report.Warning        `json:"warnings"`
}

type renderSettingsDocument struct {
	File   string        `json:"file"`
	RateHz report.Number `json:"rate_hz"`
	Moves  int           `json:"moves"`
	TrimDB report.Number `json:"trim_db"`
}

type renderMixDocument struct {
	File      string        `json:"file"`
	RateHz    int           `json:"rate_hz"`
	Channels  int           `json:"channels"`
	DurationS report.Number `json:"duration_s"`
}

func (r *rendering) writeJSON(w io.Writer) error {
	return report.WriteJSON(w, r.document(r.findings()))
}

func (r *rendering) document(warnings finding.List) renderDocument {
	outputs := r.outputs()
	for i := range outputs {
		outputs[i].File = report.Name(outputs[i].File)
	}
	d := renderDocument{Version: report.FindingsVersion, Outputs: outputs, Warnings: report.WarningsJSON(warnings)}
	d.Settings = &renderSettingsDocument{report.Name(r.options.settings), report.Number(r.settings.RateHz),
		len(r.settings.Moves), report.Number(r.settings.TrimDB)}
	if r.options.hasMix {
		d.Mix = &renderMixDocument{report.Name(r.options.mix), r.Format.RateHz, r.Format.Channels, report.Number(r.mixSec())}
		d.LoudnessBefore, d.LoudnessAfter = report.Known(r.Check.LoudnessBeforeLUFS), report.Known(r.Check.LoudnessAfterLUFS)
		d.TruePeakAfter, d.ClippedFrames = report.Known(r.Check.TruePeakAfterDBTP), &r.Check.Clipped
	}
	return d
}
