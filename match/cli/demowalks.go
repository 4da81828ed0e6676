package cli

import (
	"context"
	"fmt"
	"io"
	"path/filepath"

	"toneplumb/match"
	"toneplumb/match/artefact"
	"toneplumb/match/cli/internal/files"
	"toneplumb/match/cli/internal/flags"
	"toneplumb/match/document"
	"toneplumb/match/job"
	"toneplumb/match/listen"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/profile"
)

// walks say what the pictures of the demo show, three for each use, in the order in which
// they are to be opened. examples/walks has them too.
var walks = []struct {
	use   string
	shows [3]string
}{
	{"start", [3]string{"what to dial on the rough mix", "the same as measured, arrangement and all", "the mix through the moves, measured again: they still hold"}},
	{"check", [3]string{"the rough mix, within 2 dB of the reference: the lows are off", "the mix through the moves, within the same 2 dB", "the same within the tolerance of one more song by that maker"}},
	{"lesson", [3]string{"a worksheet, with room for one's own moves", "its solution, with reasons", "the page for the mix through the moves"}},
}

// walkName names the picture of a use, from 1.
func walkName(use string, n int) string { return fmt.Sprintf("%s-%d.png", use, n) }

// sayWalks lists the pictures.
func sayWalks(w io.Writer, folder string) {
	fmt.Fprintf(w, "\nPictures to open, in %s:\n", folder)
	for _, walk := range walks {
		for i, shows := range walk.shows {
			fmt.Fprintf(w, "  %-12s  %s\n", walkName(walk.use, i+1), shows)
		}
	}
}

// walkPictures are the documents of the walks, in a folder. Of the mix through the moves no
// file is written: it is measured as it is made.
func walkPictures(ctx context.Context, o job.Options, outcome *job.MatchOutcome, folder string) ([]files.File, error) {
	rough, references, moves := outcome.Mix, outcome.References, outcome.Settings()
	second, err := measureThrough(ctx, rough.Path, moves)
	if err != nil {
		return nil, err
	}
	asMeasured, again, within := o, o, o
	asMeasured.Solve.Stage = match.AsMeasured
	again.Previous = &match.PreviousRound{Path: "settings.json", Name: "settings.json", Settings: moves}
	within.WithinDB = 2
	chart, page, worksheet := artefact.DefaultStyle(), artefact.DefaultStyle(), artefact.DefaultStyle()
	page.Handout, worksheet.Handout, worksheet.Page.Blank = true, true, true

	w := walkDrawing{ctx: ctx, folder: folder, references: references}
	held := w.match(again, second)
	w.draw("start", 1, chart, outcome)
	w.draw("start", 2, chart, w.match(asMeasured, rough))
	w.draw("start", 3, chart, held)
	w.check(1, within, rough)
	w.check(2, within, second)
	w.check(3, o, second)
	w.draw("lesson", 1, worksheet, outcome)
	w.draw("lesson", 2, page, outcome)
	w.draw("lesson", 3, page, held)
	return w.documents, w.err
}

// measureThrough measures a mix through moves.
func measureThrough(ctx context.Context, path string, moves *document.Settings) (*measure.Recording, error) {
	src, err := audio.Open(ctx, path)
	if err != nil {
		return nil, err
	}
	defer src.Close()
	through, err := listen.Through(src, moves)
	if err != nil {
		return nil, err
	}
	return measure.Measure(ctx, through, filepath.Join(filepath.Dir(path), "second.wav"))
}

// walkDrawing gathers pictures until the first error.
type walkDrawing struct {
	ctx        context.Context
	folder     string
	references []*measure.Recording
	documents  []files.File
	err        error
}

// match is the outcome of a mix, nil after an error.
func (w *walkDrawing) match(o job.Options, mix *measure.Recording) (outcome *job.MatchOutcome) {
	if w.err == nil {
		in := job.Input{Path: mix.Path, Entries: profile.Profile{{Recording: mix}}}
		outcome, w.err = job.Reader{}.Match(w.ctx, job.MatchRequest{Options: o, Mix: in, References: w.references})
	}
	return outcome
}

// draw adds the picture of a use with its number.
func (w *walkDrawing) draw(use string, n int, style artefact.Style, outcome *job.MatchOutcome) {
	if w.err == nil {
		to := filepath.Join(w.folder, walkName(use, n))
		w.documents = append(w.documents, flags.Documents(w.ctx, []string{to}, artefact.Match, outcome, style)...)
	}
}

// check adds the picture of a verdict.
func (w *walkDrawing) check(n int, o job.Options, mix *measure.Recording) {
	if w.err != nil {
		return
	}
	var verdict *match.Check
	if verdict, w.err = job.Check(w.ctx, job.CheckRequest{Options: o, Mix: mix, References: w.references}); w.err == nil {
		to := filepath.Join(w.folder, walkName("check", n))
		w.documents = append(w.documents, flags.Documents(w.ctx, []string{to}, artefact.Check, verdict, artefact.DefaultStyle())...)
	}
}
