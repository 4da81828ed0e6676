package cli

import (
	"fmt"
	"io"
	"math"

	"toneplumb/match"
	"toneplumb/match/report"
	"toneplumb/match/words"
	"toneplumb/spectrum/audio"
)

const (
	// confirmedLU apart is as good as equal; our choice: a tenth of the 0.2 LU within
	// which levels are compared (common practice, no source).
	confirmedLU = 0.02
	// roundedLU is what is left to a trim in tenths of a dB.
	roundedLU = confirmedLU + 0.05
	// muchLouderLU is what one is warned of before playing it. Our choice: 6 dB is twice
	// the sound pressure.
	muchLouderLU = 6
)

func (r *rendering) writeText(w io.Writer) error {
	t := &report.TextReport{}
	if o := r.options; o.hasMix {
		t.File("mix", o.mix, fmt.Sprintf("%s  %s", audio.Clock(r.mixSec()), report.FormatWords(r.Format)))
	}
	moves := fmt.Sprintf("%d moves", len(r.settings.Moves))
	if len(r.settings.Moves) == 1 {
		moves = "1 move"
	}
	t.File("settings", r.options.settings, fmt.Sprintf("%s, trim %s dB", moves, words.FormatGain(r.settings.TrimDB)))
	t.WriteString("\n")
	if r.options.hasMix {
		t.Paragraph("", r.loudnessWords())
		t.Paragraph("", fmt.Sprintf("True peak after: %s dBTP.", words.FormatGain(r.Check.TruePeakAfterDBTP)))
	}
	t.Warnings(r.mind())
	for _, out := range r.outputs() {
		fmt.Fprintf(t, "wrote %s: %s\n", report.Printable(out.File), out.words())
	}
	return t.WriteOut(w)
}

func (r *rendering) mixSec() float64 { return float64(r.Check.Frames) / float64(r.Format.RateHz) }

// loudnessWords says whether the trim has kept the loudness, and which would.
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

// mind is what to mind about the render.
func (r *rendering) mind() []string {
	var all []string
	if change := r.Check.ChangeLU(); change > muchLouderLU {
		all = append(all, fmt.Sprintf("it is %.1f LU louder than the mix: turn the monitors down before you play it", change))
	} else if trim := r.settings.TrimDB; trim > muchLouderLU && !r.options.hasMix {
		all = append(all, fmt.Sprintf("the trim makes it %.1f dB louder: turn the monitors down before you play anything through it", trim))
	}
	kHz := func(hz float64) string { return fmt.Sprintf("%g kHz", hz/1000) }
	rateHz := r.Format.RateHz
	if !r.options.hasMix {
		rateHz = r.impulseRateHz
	}
	if r.settings.RateHz != float64(rateHz) && len(r.settings.Moves) > 0 {
		all = append(all, fmt.Sprintf("the moves were chosen at %s and are designed anew at %s: they keep frequency, gain and Q, and differ a little near the top",
			kHz(r.settings.RateHz), kHz(float64(rateHz))))
	}
	if !r.options.hasMix {
		return all
	}
	if r.options.sound != "" && r.Depth != r.Wanted {
		all = append(all, r.clipWords())
	}
	if peak := r.Check.TruePeakAfterDBTP; peak > match.MostTruePeakDBTP {
		over := peak - match.MostTruePeakDBTP
		all = append(all, fmt.Sprintf("the true peak is %s dBTP, above %s: a converter or a lossy encoder may clip it. Lower the trim to %s dB and turn up to compare, or bounce the mix %.1f dB lower",
			words.FormatGain(peak), words.FormatGain(match.MostTruePeakDBTP), words.FormatGain(math.Floor((r.settings.TrimDB-over)*10)/10), math.Ceil(over*10)/10))
	}
	for _, w := range r.warnings {
		all = append(all, "the mix: "+w)
	}
	return all
}

func (r *rendering) clipWords() string {
	frames := "1 frame"
	if n := r.Check.Clipped; n > 1 {
		frames = fmt.Sprintf("%d frames", n)
	}
	return fmt.Sprintf("as %s it would clip in %s: it is written as 32-bit float instead, which holds them", r.Wanted, frames)
}

// renderOutput is a file that was written.
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

// renderDocument is what --json prints. Names stay as they are; what does not apply is
// null.
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
	ClippedFrames  *int64                  `json:"clipped_frames"` // beyond full scale
	Outputs        []renderOutput          `json:"outputs"`
	Warnings       []string                `json:"warnings"`
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

func (r *rendering) writeJSON(w io.Writer) error { return report.WriteJSON(w, r.document(r.mind())) }

func (r *rendering) document(warnings []string) renderDocument {
	outputs := r.outputs()
	for i := range outputs {
		outputs[i].File = report.Name(outputs[i].File)
	}
	d := renderDocument{Version: report.Version, Outputs: outputs, Warnings: append([]string{}, warnings...)}
	d.Settings = &renderSettingsDocument{report.Name(r.options.settings), report.Number(r.settings.RateHz),
		len(r.settings.Moves), report.Number(r.settings.TrimDB)}
	if r.options.hasMix {
		d.Mix = &renderMixDocument{report.Name(r.options.mix), r.Format.RateHz, r.Format.Channels, report.Number(r.mixSec())}
		d.LoudnessBefore, d.LoudnessAfter = report.Known(r.Check.LoudnessBeforeLUFS), report.Known(r.Check.LoudnessAfterLUFS)
		d.TruePeakAfter, d.ClippedFrames = report.Known(r.Check.TruePeakAfterDBTP), &r.Check.Clipped
	}
	return d
}
