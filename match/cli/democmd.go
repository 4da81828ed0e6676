package cli

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"toneplumb/examples/demo"
	"toneplumb/match"
	"toneplumb/match/artefact"
	"toneplumb/match/cli/internal/files"
	"toneplumb/match/cli/internal/flags"
	"toneplumb/match/cli/internal/terminal"
	"toneplumb/match/document"
	"toneplumb/match/job"
	"toneplumb/match/listen"
	"toneplumb/match/report"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/profile"
)

// demoFolder is the folder of the demo if none is named.
const demoFolder = "toneplumb-demo"

func newDemo() *cobra.Command {
	c := matchCommand{Job: flags.UsualJob()}
	cmd := &cobra.Command{
		Use:   "demo [FOLDER]",
		Short: "make demo recordings and run the whole job on them",
		Long: `Synthesises a rough mix of an evening-class recording group and another group's
finished piece into FOLDER (` + demoFolder + ` if none is named), and the mix's single
tracks into FOLDER/tracks. Then it matches the one to the other and puts the chart
and the settings beside them, and into FOLDER/walks three pictures each of starting
a mix, checking one, and a lesson. It replaces no file.`,
		Example: "  toneplumb demo\n  toneplumb demo /tmp/listen",
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 {
				return fail("toneplumb demo [FOLDER]", "one folder at most, %d given", len(args))
			}
			folder := demoFolder
			if len(args) == 1 {
				folder = args[0]
			}
			return runDemo(cmd.Context(), folder, c, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	c.output.Style.Chart = report.ChartOptions{WidthPx: 1350, HeightPx: 990, DPI: 150}
	cmd.Flags().BoolVar(&c.output.JSON, "json", false, "print one JSON document instead of text")
	return cmd
}

// runDemo writes the demo into a folder, all of it or nothing. It replaces no file: a folder may
// hold the user's own settings under these names.
func runDemo(ctx context.Context, folder string, c matchCommand, stdout, stderr io.Writer) (err error) {
	in := func(name string) string { return filepath.Join(folder, name) }
	c.output.Files = []string{in("chart.png"), in("settings.json")}
	tracks, pictures := in("tracks"), in("walks")
	for _, path := range append([]string{in(demo.RoughMix().FileName), in(demo.Finished().FileName), tracks, pictures}, c.output.Files...) {
		if _, err := os.Lstat(path); err == nil {
			return fail("name another folder, as toneplumb demo again, or move that file away", "%q is there already, and the demo would replace it", path)
		}
	}
	unmake, err := files.Make(folder)
	if err != nil {
		return err
	}
	defer unmake() // leaves a folder that holds something
	fmt.Fprintf(stderr, "making two recordings in %s\n", folder)
	c.mix, c.references = in(demo.RoughMix().FileName), []string{in(demo.Finished().FileName)}
	if _, _, err = demo.Write(ctx, folder, nil); err == nil {
		err = writeTracks(ctx, tracks)
	}
	if err == nil {
		err = c.runDemo(ctx, pictures, stdout, stderr)
	}
	if err != nil { // so that the next run finds no file to replace
		os.Remove(c.mix)
		os.Remove(c.references[0])
		os.RemoveAll(tracks)
		os.RemoveAll(pictures)
	}
	if err != nil || c.output.JSON {
		return err
	}
	sayWalks(stdout, report.Printable(pictures))
	fmt.Fprintf(stdout, "\nnext: toneplumb render %s %s -o %s, and compare by ear;\n      or toneplumb serve, to do all of it in your browser\n",
		report.Printable(c.mix), report.Printable(in("settings.json")), report.Printable(in("moved.wav")))
	return nil
}

// runDemo is run, and also draws the walks into a folder.
func (c *matchCommand) runDemo(ctx context.Context, pictures string, stdout, stderr io.Writer) error {
	reader, end := terminal.Reader(nil, stderr)
	defer end()
	inputs, err := reader.ReadAll(ctx, c.mix, c.references[0])
	if err != nil {
		return err
	}
	outcome, err := reader.Match(ctx, c.request(inputs[0], job.References(inputs[1:]...)))
	if err != nil {
		return err
	}
	end()
	walks, err := walkPictures(ctx, c.Options, outcome, pictures)
	if err != nil {
		return err
	}
	if err := os.Mkdir(pictures, 0o755); err != nil {
		return files.Unwritable(pictures, err)
	}
	if err := files.Put(ctx, walks); err != nil {
		return err
	}
	return flags.Deliver(ctx, &c.output, artefact.Match, outcome, stdout)
}

// writeTracks makes the folder of the mix's single tracks.
func writeTracks(ctx context.Context, folder string) error {
	if err := os.Mkdir(folder, 0o755); err != nil {
		return files.Unwritable(folder, err)
	}
	_, err := demo.WriteTracks(ctx, folder)
	return err
}

// walks describe the pictures of the demo, three for each use, in the order to open them.
// examples/walks has the same pictures.
var walks = []struct {
	use   string
	shows [3]string
}{
	{"start", [3]string{"what to dial on the rough mix", "the same as measured, arrangement and all", "the mix through the moves, measured again: they still hold"}},
	{"check", [3]string{"the rough mix, within 2 dB of the reference: the lows are off", "the mix through the moves, within the same 2 dB", "the same within the tolerance of one more song by that maker"}},
	{"lesson", [3]string{"a worksheet, with room for one's own moves", "its solution, with reasons", "the page for the mix through the moves"}},
}

// walkName returns the file name of a use's picture n, from 1.
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

// walkPictures returns the pictures of the walks as files in a folder. The mix through the moves is
// not written to a file: it is measured as it is made.
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

// walkDrawing collects pictures until the first error.
type walkDrawing struct {
	ctx        context.Context
	folder     string
	references []*measure.Recording
	documents  []files.File
	err        error
}

// match returns the outcome for a mix, nil after an error.
func (w *walkDrawing) match(o job.Options, mix *measure.Recording) (outcome *job.MatchOutcome) {
	if w.err == nil {
		in := job.Input{Path: mix.Path, Entries: profile.Profile{{Recording: mix}}}
		outcome, w.err = job.Reader{}.Match(w.ctx, job.MatchRequest{Options: o, Mix: in, References: w.references})
	}
	return outcome
}

// draw adds picture n of a use.
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
