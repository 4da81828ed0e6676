package cli

import (
	"fmt"
	"io"

	"toneplumb/match"
	"toneplumb/match/listen"
	"toneplumb/match/report"
	"toneplumb/match/words"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/loudness"
)

func (r *rendering) writeText(w io.Writer) error {
	t := &report.TextReport{}
	o := r.options
	read, peak := "", ""
	if o.hasMix {
		read = fmt.Sprintf("%s  %s", audio.Clock(r.sec()), report.FormatWords(r.Format))
		peak = words.FormatGain(r.Check.TruePeakAfterDBTP) + " dBTP."
	}
	moves := fmt.Sprintf("%s, trim %s dB", words.Count(len(r.settings.Moves), "move"), words.FormatGain(r.settings.TrimDB))
	switch {
	case o.reference != "":
		t.File("mix", o.mix, report.Level(r.mixLUFS, 1)+" LUFS")
		t.File("reference", o.reference, fmt.Sprintf("%s, %s LUFS", read, report.Level(r.Check.LoudnessBeforeLUFS, 1)))
		t.WriteString("\n")
		t.Paragraph("", words.ReferenceLevelled(r.Check, r.settings.TrimDB))
		if r.mixHeardDB != loudness.HeardDB(r.Format.Channels) {
			t.Paragraph("", words.OneIsMono)
		}
		t.Paragraph("", "True peak after: "+peak)
	case r.advice != nil:
		t.File("mix", o.mix, read)
		t.File("plan", o.settings, words.Count(r.advice.Plan.Steps(), "step"))
		t.WriteString("\n")
		t.Paragraph("", fmt.Sprintf("With the plan: %s LUFS, true peak %s", report.Level(r.Check.LoudnessAfterLUFS, 1), peak))
	case o.hasMix:
		t.File("mix", o.mix, read)
		t.File("settings", o.settings, moves)
		t.WriteString("\n")
		t.Paragraph("", words.LoudnessKept(r.Check, r.settings.TrimDB))
		t.Paragraph("", "True peak after: "+peak)
	default:
		t.File("settings", o.settings, moves)
		t.WriteString("\n")
	}
	t.Warnings(words.Findings(r.findings()))
	for _, out := range r.outputs() {
		fmt.Fprintf(t, "wrote %s: %s\n", report.Printable(out.File), out.words())
	}
	return t.WriteOut(w)
}

func (r *rendering) sec() float64 { return float64(r.Check.Frames) / float64(r.Format.RateHz) }

// findings returns what to know before the sound is played.
func (r *rendering) findings() finding.List {
	o := r.options
	if !o.hasMix {
		return listen.ImpulseFindings(r.settings, r.impulseRateHz)
	}
	side := match.Side{Of: 1}
	var all finding.List
	switch {
	case o.reference != "":
		side.Number = 1
		all = r.LevelledFindings(r.settings.TrimDB)
	case r.advice != nil:
		most := 0.0
		for _, f := range r.advice.Plan.Faders {
			most = max(most, f.GainDB)
		}
		all = r.PlannedFindings(most)
	default:
		all = r.Plan.Findings(r.settings, o.sound != "")
	}
	for _, remark := range r.Warnings {
		all = all.With(match.FileRemark{Sides: []match.Side{side}, Remark: remark})
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

// levelledDocument names the mix to which a reference was levelled, and the gain.
type levelledDocument struct {
	Mix     string        `json:"mix"`
	MixLUFS report.Number `json:"mix_lufs"`
	GainDB  report.Number `json:"gain_db"`
}

// renderPlanDocument names the plan a mix was written with.
type renderPlanDocument struct {
	File  string `json:"file"`
	Steps int    `json:"steps"`
}

func (r *rendering) document() renderDocument {
	o := r.options
	d := renderDocument{Version: report.FindingsVersion, Outputs: r.outputs(), Warnings: report.WarningsJSON(r.findings())}
	for i := range d.Outputs {
		d.Outputs[i].File = report.Name(d.Outputs[i].File)
	}
	if o.hasMix {
		d.Mix = &renderMixDocument{report.Name(o.source()), r.Format.RateHz, r.Format.Channels, report.Number(r.sec())}
		d.LoudnessBefore, d.LoudnessAfter = report.Known(r.Check.LoudnessBeforeLUFS), report.Known(r.Check.LoudnessAfterLUFS)
		d.TruePeakAfter, d.ClippedFrames = report.Known(r.Check.TruePeakAfterDBTP), &r.Check.Clipped
	}
	switch {
	case o.reference != "":
		d.Reference, d.Mix = d.Mix, nil
		d.Levelled = &levelledDocument{report.Name(o.mix), report.Number(r.mixLUFS), report.Number(r.settings.TrimDB)}
	case r.advice != nil:
		d.Plan = &renderPlanDocument{report.Name(o.settings), r.advice.Plan.Steps()}
		d.LoudnessBefore = nil
	default:
		d.Settings = &renderSettingsDocument{report.Name(o.settings), report.Number(r.settings.RateHz), len(r.settings.Moves), report.Number(r.settings.TrimDB)}
	}
	return d
}
