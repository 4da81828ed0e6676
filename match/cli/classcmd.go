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
	"toneplumb/match/job"
	"toneplumb/match/report"
)

// classCommand is everything `class` can be told.
type classCommand struct {
	jobFlags
	output            outputFlags
	mixes, references []string
	pages             string // folder for a page of each mix; "": none
	sort              string
}

// Orders of rows.
const byName, byDistance = "name", "distance"

func newClass() *cobra.Command {
	c := classCommand{jobFlags: usualJob()}
	cmd := &cobra.Command{
		Use:   "class --ref REFERENCE [--ref REFERENCE...] MIX...",
		Short: "many mixes against the same references",
		Long: `Compares the mixes of a course, or of your own album, with the same references.
For each it lists the distance, the zones with the verdicts of check, and the
moves of match; then what most mixes have in common. A file that cannot be read
is a row that says why.

The exit code is 0 if no mix is off, 1 if one is, and 2 if one could not be
read.`,
		Example: `  toneplumb class --ref one.flac --ref two.flac --ref three.flac mixes/*.wav
  toneplumb class --ref house.json mixes/*.wav -o class.html -o class.csv
  toneplumb class --ref house.json mixes/*.wav -o all.pdf --pages pages --plain`,
		RunE: func(cmd *cobra.Command, args []string) error {
			const how = "toneplumb class --ref REFERENCE MIX..."
			switch {
			case len(c.references) == 0:
				return fail(how, "a reference is needed, named by --ref")
			case len(args) == 0:
				return fail(how, "a mix is needed, none given")
			}
			c.mixes = args
			var err error
			if c.references, err = expand(c.references); err != nil {
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
	c.output.addFiles(cmd, "a table .csv, .json or .txt, an overview .html, a page of\neach mix in one .pdf")
	c.output.addPaper(cmd)
	f.StringVar(&c.pages, "pages", "", "write a page of each mix, a .pdf named like it, into `FOLDER`")
	f.StringVar(&c.sort, "sort", byName, "`ORDER` of the rows: name or distance")
	f.BoolVar(&c.output.style.DecimalComma, "decimal-comma", false, "write a .csv with commas in numbers and semicolons between cells")
	c.addPlain(cmd)
	c.addAdvice(cmd, match.Finished)
	c.addWithin(cmd)
	c.addJudged(cmd)
	c.addPrevious(cmd, "judge each of them without")
	return cmd
}

// inputs are the files that no output may replace.
func (c *classCommand) inputs() []string {
	return slices.Concat(c.mixes, c.references, []string{c.equaliser, c.already})
}

// parse tells before the long work what cannot be done.
func (c *classCommand) parse(cmd *cobra.Command) error {
	if err := c.jobFlags.parse(cmd); err != nil {
		return err
	}
	if err := checkPaths(c.output.files, c.inputs(), artefact.Class.Extensions()); err != nil {
		return err
	}
	switch {
	case c.sort != byName && c.sort != byDistance:
		return fail("use --sort name or --sort distance", "--sort %q is no order known here", c.sort)
	case c.output.style.DecimalComma && !c.output.has(".csv"):
		return fail("add -o class.csv", "--decimal-comma is for a .csv, and none is to be written")
	}
	if err := c.output.parse(); err != nil {
		return err
	}
	if c.pages == "" {
		return nil
	}
	if info, err := os.Stat(c.pages); err == nil && !info.IsDir() {
		return fail("choose the name of a folder", "--pages %q is a file", c.pages)
	}
	if err := os.MkdirAll(c.pages, 0o755); err != nil {
		return unwritable(c.pages, err)
	}
	return nil
}

func (c *classCommand) run(ctx context.Context, stdout, stderr io.Writer) error {
	if err := c.read(); err != nil {
		return err
	}
	shown := newProgress(stderr)
	defer shown.end()
	reader := job.Reader{Watch: shown.watch}
	inputs, err := reader.ReadAll(ctx, c.references...)
	if err != nil {
		return err
	}
	counted := shown.count("mixes", len(c.mixes))
	outcome, err := reader.Class(ctx, job.ClassRequest{Options: c.Options, Mixes: c.mixes, References: job.References(inputs...),
		ByDistance: c.sort == byDistance, Sheets: c.output.has(".pdf"), Alone: c.pages != "", Page: c.output.style.Page, Done: counted.Increment})
	if err != nil {
		return err
	}
	shown.end()
	documents, err := c.documents(ctx, outcome)
	if err != nil {
		return err
	}
	if err := putInPlace(ctx, documents); err != nil {
		return err
	}
	if err := printOutcome(ctx, &c.output, artefact.Class, outcome, stdout); err != nil {
		return err
	}
	if !c.output.json {
		c.wrote(stdout, documents)
	}
	return verdictOf(outcome.Table)
}

// verdictOf is the error that stands for the exit code of a table.
func verdictOf(t *class.Table) error {
	switch n := t.Unreadable(); {
	case n == 1 && len(t.Rows) == 1:
		return fail("the table says why", "the mix could not be read")
	case n > 0:
		return fail("the table says why of each; the others are done", "%d of %d mixes could not be read", n, len(t.Rows))
	case t.Differing() > 0:
		return errOutside
	}
	return nil
}

// documents are the outputs. Where no mix could be read there is no page.
func (c *classCommand) documents(ctx context.Context, outcome *job.ClassOutcome) ([]document, error) {
	paths := slices.DeleteFunc(slices.Clone(c.output.files), func(path string) bool {
		return extension(path) == ".pdf" && len(outcome.Pages) == 0
	})
	all := documentsOf(ctx, paths, artefact.Class, outcome, c.output.style)
	if c.pages == "" {
		return all, nil
	}
	var names []string
	for _, p := range outcome.Pages {
		names = append(names, p.Name)
	}
	for i, name := range class.PageNames(names, ".pdf") {
		path := filepath.Join(c.pages, name)
		if err := writable(path, c.inputs()); err != nil {
			return nil, err
		}
		all = append(all, document{path, func(w io.Writer) error {
			_, err := w.Write(outcome.Pages[i].Alone)
			return err
		}})
	}
	return all, nil
}

// wrote says what was written, the pages of a folder in one line.
func (c *classCommand) wrote(stdout io.Writer, documents []document) {
	n := len(documents)
	for _, path := range c.output.files {
		if slices.ContainsFunc(documents, func(d document) bool { return d.path == path }) {
			wrote(stdout, []string{path})
			n--
		}
	}
	if n > 0 {
		fmt.Fprintf(stdout, "wrote %s into %s\n", count(n, "page"), report.Printable(strings.TrimSuffix(c.pages, string(filepath.Separator))))
	}
}
