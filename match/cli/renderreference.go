package cli

import (
	"context"
	"fmt"
	"io"
	"math"

	"toneplumb/match"
	"toneplumb/match/document"
	"toneplumb/match/report"
	"toneplumb/match/words"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
)

// levelled is a reference written at the mix's loudness, to compare both in a recording program.
type levelled struct {
	rendering         // of the reference; its only setting is the gain
	mix       string  // path
	mixLUFS   float64 // integrated
}

// runReference writes the reference at the integrated loudness of the mix.
func runReference(ctx context.Context, o renderOptions, stdout, stderr io.Writer) error {
	l := levelled{mix: o.mix, rendering: rendering{options: o}}
	mixLUFS, _, err := loudnessOf(ctx, audio.NewCache(), o.mix, stderr)
	if err != nil {
		return err
	}
	l.mixLUFS = mixLUFS
	l.options.mix = o.reference // what is read from here on
	l.keeper = audio.NewCache(o.reference)
	defer l.keeper.Close()
	lufs, rateHz, err := loudnessOf(ctx, l.keeper, o.reference, stderr)
	if err != nil {
		return err
	}
	l.settings = &document.Settings{RateHz: float64(rateHz), TrimDB: mixLUFS - lufs}
	if err := l.listen(ctx, stderr); err != nil {
		return err
	}
	if err := l.write(ctx, stderr); err != nil {
		return err
	}
	if o.json {
		return l.writeJSON(stdout)
	}
	return l.writeText(stdout)
}

// loudnessOf reads a recording to its end and returns its integrated loudness. It returns an error
// where [listen.NewPlan] does.
func loudnessOf(ctx context.Context, cache *audio.Cache, path string, stderr io.Writer) (lufs float64, rateHz int, err error) {
	r := rendering{options: renderOptions{mix: path}, settings: &document.Settings{}, keeper: cache}
	if err := r.listen(ctx, stderr); err != nil {
		return 0, 0, err
	}
	return r.Check.LoudnessBeforeLUFS, r.Format.RateHz, nil
}

func (l *levelled) writeText(w io.Writer) error {
	t := &report.TextReport{}
	t.File("mix", l.mix, report.Level(l.mixLUFS, 1)+" LUFS")
	t.File("reference", l.options.mix, fmt.Sprintf("%s  %s, %s LUFS", audio.Clock(l.mixSec()), report.FormatWords(l.Format), report.Level(l.Check.LoudnessBeforeLUFS, 1)))
	t.WriteString("\n")
	t.Paragraph("", fmt.Sprintf("The reference is written %s, at the mix's loudness: %s LUFS.", l.turned(), report.Level(l.Check.LoudnessAfterLUFS, 1)))
	t.Paragraph("", fmt.Sprintf("True peak after: %s dBTP.", words.FormatGain(l.Check.TruePeakAfterDBTP)))
	t.Warnings(words.Findings(l.findings()))
	for _, out := range l.outputs() {
		fmt.Fprintf(t, "wrote %s: %s\n", report.Printable(out.File), out.words())
	}
	return t.WriteOut(w)
}

func (l *levelled) turned() string {
	side := "down"
	if l.settings.TrimDB > 0 {
		side = "up"
	}
	return fmt.Sprintf("%.1f dB %s", math.Abs(l.settings.TrimDB), side)
}

// findings returns what to know before the levelled reference is played.
func (l *levelled) findings() finding.List {
	return l.LevelledFindings(l.settings.TrimDB).With(l.remarks(match.Side{Number: 1, Of: 1})...)
}

func (l *levelled) writeJSON(w io.Writer) error {
	d := l.document(l.findings())
	d.Reference, d.Mix, d.Settings = d.Mix, nil, nil
	gain := report.Number(l.settings.TrimDB)
	d.Levelled = &levelledDocument{Mix: report.Name(l.mix), MixLUFS: report.Number(l.mixLUFS), GainDB: gain}
	return report.WriteJSON(w, d)
}

// levelledDocument names the mix to which a reference was levelled, and the gain.
type levelledDocument struct {
	Mix     string        `json:"mix"`
	MixLUFS report.Number `json:"mix_lufs"`
	GainDB  report.Number `json:"gain_db"`
}
