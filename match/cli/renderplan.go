package cli

import (
	"context"
	"fmt"
	"io"

	"toneplumb/match"
	"toneplumb/match/cli/internal/files"
	"toneplumb/match/document"
	"toneplumb/match/job"
	"toneplumb/match/listen"
	"toneplumb/match/report"
	"toneplumb/match/tracks"
	"toneplumb/match/tracks/forms"
	"toneplumb/match/words"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure/multitrack"
)

// plannedRender writes a mix through the plan of a document of tracks.
type plannedRender struct {
	rendering
	advice *tracks.Advice // the plan, with its tracks and groups
}

func runPlan(ctx context.Context, o renderOptions, stdout, stderr io.Writer) error {
	file, err := job.OpenStream(o.settings)
	if err != nil {
		return err
	}
	defer file.Close()
	d, err := forms.ReadPlan(file)
	if err != nil {
		return fail("give the document that tracks wrote with -o plan.json", "%q: %s", o.settings, err)
	}
	p := plannedRender{rendering: rendering{options: o, settings: &document.Settings{RateHz: d.RateHz()}, keeper: audio.NewCache(o.mix)}}
	defer p.keeper.Close()
	var late map[string]int
	if p.advice, late, err = d.Advice(o.mix, o.tracks); err != nil {
		return fail("give the mix and the tracks as tracks had them, in the same order, with --sum where it had that", "%q: %s", o.settings, err)
	}
	open := multitrack.Shifted(func(ctx context.Context, path string) (audio.Source, error) {
		if o.sum && path == tracks.SumName {
			return multitrack.Sum(ctx, p.keeper.Open, o.tracks)
		}
		return p.keeper.Open(ctx, path)
	}, late)
	p.planned = func(ctx context.Context, _ string) (audio.Source, error) { return p.advice.Planned(ctx, open) }
	if err := p.listen(ctx, stderr); err != nil {
		return err
	}
	if p.Format.RateHz != int(d.RateHz()) {
		return fail("run tracks on these files", "%q was written for %g kHz, and the mix has %g", o.settings, d.RateHz()/1000, float64(p.Format.RateHz)/1000)
	}
	if err := p.write(ctx, stderr); err != nil {
		return err
	}
	if o.json {
		j := p.document(p.findings())
		j.Settings, j.Plan = nil, &renderPlanDocument{report.Name(o.settings), p.advice.Plan.Steps()}
		j.LoudnessBefore = nil
		return report.WriteJSON(stdout, j)
	}
	return p.writeText(stdout)
}

// renderPlanDocument names the plan a mix was written with.
type renderPlanDocument struct {
	File  string `json:"file"`
	Steps int    `json:"steps"`
}

func (p *plannedRender) writeText(w io.Writer) error {
	t := &report.TextReport{}
	o := p.options
	t.File("mix", o.mix, fmt.Sprintf("%s  %s", audio.Clock(p.mixSec()), report.FormatWords(p.Format)))
	t.File("plan", o.settings, words.Count(p.advice.Plan.Steps(), "step"))
	t.WriteString("\n")
	t.Paragraph("", fmt.Sprintf("With the plan: %s LUFS, true peak %s dBTP.", report.Level(p.Check.LoudnessAfterLUFS, 1), words.FormatGain(p.Check.TruePeakAfterDBTP)))
	t.Warnings(words.Findings(p.findings()))
	for _, out := range p.outputs() {
		fmt.Fprintf(t, "wrote %s: %s\n", report.Printable(out.File), out.words())
	}
	return t.WriteOut(w)
}

// findings returns what to know before the mix with the plan is played.
func (p *plannedRender) findings() finding.List {
	most := 0.0
	for _, f := range p.advice.Plan.Faders {
		most = max(most, f.GainDB)
	}
	return p.PlannedFindings(most).With(p.remarks(match.Side{Of: 1})...)
}

// writePlanned writes the mix with the plan to a WAV file.
func writePlanned(ctx context.Context, open multitrack.Opener, advice *tracks.Advice, path string) error {
	mix := advice.Result.Mix.Path
	src, err := advice.Planned(ctx, open)
	if err != nil {
		return err
	}
	plan, err := listen.NewPlan(ctx, src, &document.Settings{}, mix, nil)
	src.Close()
	if err != nil {
		return err
	}
	if src, err = advice.Planned(ctx, open); err != nil {
		return err
	}
	defer src.Close()
	w, err := plan.Create(path)
	if err != nil {
		return err
	}
	defer w.Abort()
	if err := plan.Write(ctx, src, mix, w); err != nil {
		return err
	}
	return files.Put(ctx, nil, w)
}
