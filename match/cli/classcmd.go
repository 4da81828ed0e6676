package cli

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"toneplumb/match"
	"toneplumb/match/artefact"
	"toneplumb/match/class"
	"toneplumb/match/cli/internal/files"
	"toneplumb/match/cli/internal/flags"
	"toneplumb/match/cli/internal/terminal"
	"toneplumb/match/job"
	"toneplumb/match/report"
	"toneplumb/match/words"
	"toneplumb/plots"
	"toneplumb/spectrum/finding"
)

type classCommand struct {
	flags.Job
	output            flags.Output
	mixes, references []string
	pages             string   // folder for a page of each mix; "": none
	before            string   // folder of earlier bounces; "": none
	earlier           []string // the files in it
	sort              string
}

// Orders of rows.
const byName, byDistance = "name", "distance"

func newClass() *cobra.Command {
	c := classCommand{Job: flags.UsualJob()}
	cmd := &cobra.Command{
		Use:   "class --ref REFERENCE [--ref REFERENCE...] MIX...",
		Short: "many mixes against the same references",
		Long: `Compares the mixes of a course, or of your own album, with the same references.
For each it lists the distance, the zones with the verdicts of check, and the
moves of match; then what most mixes have in common. A file that cannot be read
is a row that says why. The moves are for finished mixes, off by less than 5 dB
on a dial; --stage rough gives those of match. Where the shell does not expand
mixes/*.wav, as on Windows, the program does.

With --before it finds each mix's earlier bounce by the name of its file and says
whether the mix has come nearer. -o wall.png is a picture for the wall: all mixes
and zones, to be read from two metres on A3 paper.

The exit code is 0 if no mix is off, 1 if one is, and 2 if one could not be
read.`,
		Example: `  toneplumb class --ref one.flac --ref two.flac --ref three.flac mixes/*.wav
  toneplumb class --ref house.json mixes/*.wav -o class.html -o class.csv
  toneplumb class --ref house.json mixes/*.wav -o all.pdf --pages pages --plain
  toneplumb class --ref house.json week2/*.wav --before week1 -o wall.png`,
		RunE: func(cmd *cobra.Command, args []string) error {
			const how = "toneplumb class --ref REFERENCE MIX..."
			switch {
			case len(c.references) == 0:
				return fail(finding.FilesNeeded, how, "a reference is needed, named by --ref")
			case len(args) == 0:
				return fail(finding.FilesNeeded, how, "a mix is needed, none given")
			}
			c.mixes = args
			var err error
			if c.references, err = flags.Expand(c.references); err != nil {
				return err
			}
			if err := c.parse(cmd); err != nil {
				return err
			}
			return c.run(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := cmd.Flags()
	f.StringArrayVar(&c.references, "ref", nil, "compare the mixes with `REFERENCE`, a recording or a profile; may be given\nmore than once")
	c.output.AddFiles(cmd, "a table .csv, .json or .txt, an overview .html, a page of\neach mix in one .pdf, a picture for the wall .png or .svg")
	c.output.AddPaper(cmd)
	c.output.AddBlank(cmd)
	f.StringVar(&c.pages, "pages", "", "write a page of each mix, a .pdf named like it, into `FOLDER`")
	f.StringVar(&c.before, "before", "", "say what has become of each mix since its earlier bounce of the same name in\n`FOLDER`")
	f.StringVar(&c.sort, "sort", byName, "`ORDER` of the rows: name or distance")
	f.BoolVar(&c.output.Style.DecimalComma, "decimal-comma", false, "write a .csv with commas in numbers and semicolons between cells")
	c.AddPlain(cmd)
	c.AddAdvice(cmd, match.Finished)
	c.AddWithin(cmd)
	c.AddJudged(cmd)
	c.AddPrevious(cmd, "judge each of them without")
	return cmd
}

// inputs are the files that no output may replace.
func (c *classCommand) inputs() []string {
	return slices.Concat(c.mixes, c.references, c.earlier, []string{c.Equaliser, c.Already})
}

// parse reads and checks the flags, before the long work.
func (c *classCommand) parse(cmd *cobra.Command) error {
	if err := c.Job.Parse(cmd); err != nil {
		return err
	}
	if err := c.findEarlier(); err != nil {
		return err
	}
	if err := flags.CheckPaths(c.output.Files, c.inputs(), artefact.Class.Extensions(), c.output.Replace); err != nil {
		return err
	}
	switch {
	case c.sort != byName && c.sort != byDistance:
		return fail(finding.WrongOption, "use --sort name or --sort distance", "--sort %q is no order known here", c.sort)
	case c.output.Style.DecimalComma && !c.output.Has(".csv"):
		return fail(finding.OptionsClash, "add -o class.csv", "--decimal-comma is for a .csv, and none is to be written")
	}
	if err := c.output.Parse(); err != nil {
		return err
	}
	if c.output.Style.Page.Blank && c.pages == "" && !c.output.Has(".pdf") {
		return fail(finding.OptionsClash, "add -o all.pdf, or --pages FOLDER", "--blank makes pages worksheets, and no page is to be written")
	}
	if c.pages == "" {
		return nil
	}
	if info, err := os.Stat(c.pages); err == nil && !info.IsDir() {
		return fail(finding.WrongOption, "choose the name of a folder", "--pages %q is a file", c.pages)
	}
	if err := files.CheckEmpty(c.pages, "name another folder, or add --replace"); err != nil && !c.output.Replace {
		return err
	}
	return nil
}

// findEarlier lists the files in the folder of earlier bounces.
func (c *classCommand) findEarlier() error {
	if c.before == "" {
		return nil
	}
	const hint = "name the folder that holds the earlier bounces, under the names they have now"
	entries, err := os.ReadDir(c.before)
	if err != nil {
		return fail(finding.NotFound, hint, "--before %q is no folder that can be read", c.before)
	}
	for _, e := range entries {
		if e.Type().IsRegular() && !strings.HasPrefix(e.Name(), ".") {
			c.earlier = append(c.earlier, filepath.Join(c.before, e.Name()))
		}
	}
	if c.earlier == nil {
		return fail(finding.NotFound, hint, "--before %q holds no file", c.before)
	}
	return nil
}

func (c *classCommand) run(ctx context.Context, stdout, stderr io.Writer) error {
	if err := c.Read(); err != nil {
		return err
	}
	if c.pages != "" { // before the long work, as it may be impossible
		unmake, err := files.Make(c.pages)
		if err != nil {
			return err
		}
		defer unmake() // leaves a folder that holds something
	}
	shown := terminal.NewProgress(stderr)
	defer shown.End()
	reader := job.Reader{Watch: shown.Watch}
	inputs, err := reader.ReadAll(ctx, c.references...)
	if err != nil {
		return err
	}
	counted := shown.Count("mixes", len(c.mixes))
	outcome, err := reader.Class(ctx, job.ClassRequest{Options: c.Options, Mixes: c.mixes, Before: c.earlier, References: job.References(inputs...),
		ByDistance: c.sort == byDistance, Pages: c.output.Has(".pdf") || c.pages != "", Page: c.output.Style.Page, Done: counted.Increment})
	if err != nil {
		return err
	}
	shown.End()
	outcome.Blank = c.output.Style.Page.Blank
	paths := c.output.Files
	if outcome.Unreadable() == len(outcome.Rows) { // then there is no page and no picture
		drawn := []string{".pdf", ".png", ".svg"}
		paths = slices.DeleteFunc(slices.Clone(paths), func(path string) bool { return slices.Contains(drawn, files.Extension(path)) })
	}
	pages, err := c.pageFiles(outcome)
	if err != nil {
		return err
	}
	if err := files.Put(ctx, c.output.Replace, append(flags.Documents(ctx, paths, artefact.Class, outcome, c.output.Style), pages...)); err != nil {
		return err
	}
	if err := flags.PrintOutcome(ctx, &c.output, artefact.Class, outcome, stdout); err != nil {
		return err
	}
	if !c.output.JSON {
		flags.ReportWritten(stdout, paths...)
		if n := len(pages); n > 0 {
			fmt.Fprintf(stdout, "wrote %s into %s\n", words.Count(n, "page"), report.Printable(strings.TrimSuffix(c.pages, string(filepath.Separator))))
		}
		c.output.ReportSolutions(stdout, c.output.Has(".pdf") || len(pages) > 0, "odd pages are worksheets, even ones solutions")
		if !c.Plain && outcome.Unreadable() < len(outcome.Rows) && (c.output.Has(".png") || c.output.Has(".pdf") || len(pages) > 0) {
			flags.ReportBoxes(stdout, append(c.references, c.mixes...)...)
		}
	}
	return verdictOf(outcome.Table)
}

// verdictOf returns the error that leads to a table's exit code.
func verdictOf(t *class.Table) error {
	switch n := t.Unreadable(); {
	case n == 1 && len(t.Rows) == 1:
		return fail(finding.SomeFailed, "the table says why", "the mix could not be read")
	case n > 0:
		return fail(finding.SomeFailed, "the table says why of each; the others are done", "%d of %d mixes could not be read", n, len(t.Rows))
	case t.Differing() > 0:
		return errOutside
	}
	return nil
}

// pageFiles returns the page of each mix as a file in the folder of --pages.
func (c *classCommand) pageFiles(outcome *job.ClassOutcome) (all []files.File, err error) {
	if c.pages == "" {
		return nil, nil
	}
	var names []string
	for _, p := range outcome.Pages {
		names = append(names, p.Name)
	}
	for i, name := range class.PageNames(names, ".pdf") {
		path := filepath.Join(c.pages, name)
		if err := flags.Writable(path, c.inputs(), true); err != nil { // parse has seen that none is there
			return nil, err
		}
		all = append(all, files.File{Path: path, Write: func(w io.Writer) error { return plots.WritePDF(w, outcome.Pages[i].Sheets...) }})
	}
	return all, nil
}
