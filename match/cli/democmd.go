package cli

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"toneplumb/examples/demo"
	"toneplumb/match/artefact"
	"toneplumb/match/cli/internal/files"
	"toneplumb/match/cli/internal/flags"
	"toneplumb/match/cli/internal/terminal"
	"toneplumb/match/job"
	"toneplumb/match/report"
)

// demoFolder is where the demo goes if no folder is named.
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

// runDemo writes the demo into a folder, all of it or nothing. It replaces no file: a
// folder may hold settings of the user's own under these names.
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
	defer unmake() // which leaves a folder that is in use
	fmt.Fprintf(stderr, "making two recordings in %s\n", folder)
	c.references = make([]string, 1)
	if c.mix, c.references[0], err = demo.Write(ctx, folder, nil); err != nil {
		return err
	}
	if err = writeTracks(ctx, tracks); err == nil {
		err = c.runDemo(ctx, pictures, stdout, stderr)
	}
	if err != nil { // so that the next run finds nothing in its way
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

// runDemo is run, and draws the walks into a folder.
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
