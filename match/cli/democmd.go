package cli

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	"toneplumb/examples/demo"
	"toneplumb/match"
	"toneplumb/match/artefact"
	"toneplumb/match/cli/internal/files"
	"toneplumb/match/cli/internal/flags"
	"toneplumb/match/document"
	"toneplumb/match/job"
	"toneplumb/match/listen"
	"toneplumb/match/report"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

const demoFolder = "toneplumb-demo" // the folder of the demo if none is named

func newDemo() *cobra.Command {
	c := matchCommand{Job: flags.UsualJob()}
	cmd := &cobra.Command{
		Use:   "demo [FOLDER]",
		Short: "make demo recordings and run the whole job on them",
		Long: `Synthesises a rough mix of an evening-class recording group and another group's
finished piece into FOLDER (` + demoFolder + ` if none is named), and the mix's single
tracks into FOLDER/tracks. Then it matches the one to the other and puts the chart
and the settings beside them, and into FOLDER/walks three pictures each of starting
a mix, checking one, and a lesson. It replaces no file; if all of it is there
already, it writes nothing.`,
		Example: "  toneplumb demo\n  toneplumb demo /tmp/listen",
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 {
				return fail(finding.FilesNeeded, "toneplumb demo [FOLDER]", "one folder at most, %d given", len(args))
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
	all := append([]string{in(demo.RoughMix().FileName), in(demo.Finished().FileName), tracks, pictures}, c.output.Files...)
	there := slices.DeleteFunc(slices.Clone(all), func(path string) bool {
		_, err := os.Lstat(path)
		return err != nil
	})
	switch {
	case len(there) == len(all) && !c.output.JSON: // the README's walk begins so, and so does building from the source
		fmt.Fprintf(stdout, "The demo is in %s already: nothing was written.\n", report.Printable(folder))
		return nil
	case len(there) > 0:
		return fail(finding.WouldOverwrite, "name another folder, such as toneplumb demo OTHER-FOLDER, or move that file away", "%q is there already, and the demo would replace it", there[0])
	}
	unmake, err := files.Make(folder)
	if err != nil {
		return err
	}
	defer unmake() // leaves a folder that holds something
	fmt.Fprintf(stderr, "making two recordings in %s\n", folder)
	c.mix, c.references = in(demo.RoughMix().FileName), []string{in(demo.Finished().FileName)}
	if _, _, err = demo.Write(ctx, folder, nil); err == nil {
		err = c.fillDemo(ctx, tracks, pictures, stdout, stderr)
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
	fmt.Fprintf(stdout, "\nnext: toneplumb serve, to do all of it in your browser; or compare by ear what\nthis writes:\n  toneplumb render %s %s -o %s\n", // whole, to be copied
		report.Argument(c.mix), report.Argument(in("settings.json")), report.Argument(in("moved.wav")))
	return nil
}

// fillDemo writes everything but the recordings, and prints the moves.
func (c *matchCommand) fillDemo(ctx context.Context, tracks, pictures string, stdout, stderr io.Writer) error {
	if _, err := files.Make(tracks); err != nil {
		return err
	}
	if _, err := demo.WriteTracks(ctx, tracks); err != nil {
		return err
	}
	outcome, err := c.outcome(ctx, stderr)
	if err != nil {
		return err
	}
	walks, err := walkPictures(ctx, c.Options, outcome, pictures)
	if err != nil {
		return err
	}
	if _, err := files.Make(pictures); err != nil {
		return err
	}
	if err := files.Put(ctx, false, walks); err != nil {
		return err
	}
	return flags.Deliver(ctx, &c.output, artefact.Match, outcome, stdout)
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

	matched := func(o job.Options, mix *measure.Recording) (*job.MatchOutcome, error) {
		c, err := job.Compare(o, mix, references)
		if err != nil {
			return nil, err
		}
		return &job.MatchOutcome{Result: c.Match(), Previous: o.Previous}, nil
	}
	held, err := matched(again, second)
	if err != nil {
		return nil, err
	}
	measured, err := matched(asMeasured, rough)
	if err != nil {
		return nil, err
	}
	path := func(use string, n int) []string { return []string{filepath.Join(folder, walkName(use, n))} }
	var all []files.File
	for i, o := range []*job.MatchOutcome{outcome, measured, held} {
		all = append(all, flags.Documents(ctx, path("start", i+1), artefact.Match, o, chart)...)
	}
	for i, judged := range []job.CheckRequest{{Options: within, Mix: rough}, {Options: within, Mix: second}, {Options: o, Mix: second}} {
		judged.References = references
		verdict, err := job.Check(ctx, judged)
		if err != nil {
			return nil, err
		}
		all = append(all, flags.Documents(ctx, path("check", i+1), artefact.Check, verdict, chart)...)
	}
	all = append(all, flags.Documents(ctx, path("lesson", 1), artefact.Match, outcome, worksheet)...)
	all = append(all, flags.Documents(ctx, path("lesson", 2), artefact.Match, outcome, page)...)
	return append(all, flags.Documents(ctx, path("lesson", 3), artefact.Match, held, page)...), nil
}

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
