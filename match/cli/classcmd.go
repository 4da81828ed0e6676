package cli

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"toneplumb/match"
	"toneplumb/match/class"
	"toneplumb/match/report"
	"toneplumb/plots"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// classOptions is everything `class` can be told.
type classOptions struct {
	mixes, references []string
	files             []string // outputs
	pages             string   // folder for a page of each mix; "": none
	equaliser         string
	sort              string
	paper             string
	withinDB          float64
	decimalComma      bool
	plain, json       bool
	compare           match.CompareOptions
	solve             match.SolveOptions
}

// Orders of rows.
const byName, byDistance = "name", "distance"

func newClass() *cobra.Command {
	var smooth, span string
	o := classOptions{solve: match.DefaultSolve()}
	cmd := &cobra.Command{
		Use:   "class --ref REFERENCE [--ref REFERENCE...] MIX...",
		Short: "many mixes against the same references",
		Long: `Holds the mixes of a course, or of one's own album, against the same references
and lists of each its distance, its zones with the verdicts of check, and the
moves of match; then what most mixes have in common. A file that cannot be read
is a row that says why.

The exit code is 0 if no mix differs, 1 if one does, and 2 if one could not be
read.`,
		Example: `  toneplumb class --ref one.flac --ref two.flac --ref three.flac mixes/*.wav
  toneplumb class --ref house.json mixes/*.wav -o class.html -o class.csv
  toneplumb class --ref house.json mixes/*.wav -o all.pdf --pages pages --plain`,
		RunE: func(cmd *cobra.Command, args []string) error {
			const how = "toneplumb class --ref REFERENCE MIX..."
			switch {
			case len(o.references) == 0:
				return fail(how, "a reference is needed, named by --ref")
			case len(args) == 0:
				return fail(how, "a mix is needed, none given")
			}
			o.mixes = args
			var err error
			if o.compare, err = parseCompare(smooth, span); err != nil {
				return err
			}
			return runClass(cmd.Context(), o, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := cmd.Flags()
	f.StringArrayVar(&o.references, "ref", nil, "hold the mixes against `REFERENCE`, a recording or a profile; may be given\nmore than once")
	f.StringArrayVarP(&o.files, "output", "o", nil, "also write `FILE`: a table .csv, .json or .txt, an overview .html, a page of\neach mix in one .pdf; may be given more than once")
	f.StringVar(&o.pages, "pages", "", "write a page of each mix, a .pdf named like it, into `FOLDER`")
	f.StringVar(&o.sort, "sort", byName, "`ORDER` of the rows: name or distance")
	f.BoolVar(&o.decimalComma, "decimal-comma", false, "write a .csv with commas in numbers and semicolons between cells")
	addPlain(cmd, &o.plain)
	f.BoolVar(&o.json, "json", false, "print one JSON document instead of text")
	f.StringVar(&o.paper, "paper", defaultPaper, "`SIZE` of the pages: a4 or letter")
	f.StringVar(&o.equaliser, "eq", "", eqUsage)
	addWithin(cmd, &o.withinDB)
	addCompare(cmd, &smooth, &span)
	return cmd
}

// check tells before the long work what cannot be done.
func (o *classOptions) check() error {
	look := outputOptions{files: o.files, size: defaultSize, paper: o.paper}
	if err := look.check(slices.Concat(o.mixes, o.references, []string{o.equaliser}), []string{".csv", ".json", ".txt", ".html", ".pdf"}); err != nil {
		return err
	}
	has := func(end string) bool {
		return slices.ContainsFunc(o.files, func(path string) bool { return extension(path) == end })
	}
	switch {
	case o.sort != byName && o.sort != byDistance:
		return fail("use --sort name or --sort distance", "--sort %q is no order known here", o.sort)
	case o.decimalComma && !has(".csv"):
		return fail("add -o class.csv", "--decimal-comma is for a .csv, and none is to be written")
	}
	if _, err := o.look(); err != nil {
		return err
	}
	if o.pages == "" {
		return nil
	}
	if info, err := os.Stat(o.pages); err == nil && !info.IsDir() {
		return fail("choose the name of a folder", "--pages %q is a file", o.pages)
	}
	if err := os.MkdirAll(o.pages, 0o755); err != nil {
		return unwritable(o.pages, err)
	}
	return nil
}

// look is that of the pages.
func (o *classOptions) look() (report.HandoutLook, error) {
	letter, err := isLetter(o.paper)
	return report.HandoutLook{Letter: letter}, err
}

func runClass(ctx context.Context, o classOptions, stdout, stderr io.Writer) error {
	if err := o.check(); err != nil {
		return err
	}
	if err := useEqualiser(o.equaliser, &o.solve); err != nil {
		return err
	}
	inputs, err := readInputs(ctx, o.references, stderr)
	if err != nil {
		return err
	}
	t, pages, err := o.run(ctx, asReferences(inputs), stderr)
	if err != nil {
		return err
	}
	documents, err := o.documents(t, pages)
	if err != nil {
		return err
	}
	if err := putInPlace(ctx, documents); err != nil {
		return err
	}
	if o.json {
		err = class.JSON(stdout, t)
	} else if err = class.Text(stdout, t); err == nil {
		o.wrote(stdout, documents)
	}
	switch n := t.Unreadable(); {
	case err != nil:
		return err
	case n == 1 && len(t.Rows) == 1:
		return fail("the table says why", "the mix could not be read")
	case n > 0:
		return fail("the table says why of each; the others are done", "%d of %d mixes could not be read", n, len(t.Rows))
	case t.Differing() > 0:
		return errOutside
	}
	return nil
}

// classPage is what is kept of a mix to hand out.
type classPage struct {
	number int // of its row
	name   string
	sheets []*plots.Figure // for the pages in one document
	alone  []byte          // the page as a document of its own
}

// run measures the mixes and draws their pages.
func (o *classOptions) run(ctx context.Context, references []*measure.Recording, stderr io.Writer) (*class.Table, []classPage, error) {
	shown := newProgress(stderr)
	defer shown.end()
	counted := shown.count("mixes", len(o.mixes))
	look, _ := o.look() // see check
	together := slices.ContainsFunc(o.files, func(path string) bool { return extension(path) == ".pdf" })
	kept := make([]classPage, len(o.mixes)+1) // by the row's number; each is written by one goroutine
	job := class.Job{
		Mixes: o.mixes, References: references, Compare: o.compare, Solve: o.solve, WithinDB: o.withinDB, Plain: o.plain,
		Measure: func(ctx context.Context, path string) (*measure.Recording, error) {
			defer counted.Increment()
			if looksLikeProfile(path) {
				p, err := readProfile(path)
				if err != nil {
					return nil, err
				}
				return input{path, true, p}.asMix()
			}
			return measureOne(ctx, audio.Open, path, shown)
		},
	}
	if together || o.pages != "" {
		job.Keep = func(row *class.Row, r *match.Result) error {
			p := classPage{number: row.Number, name: row.Name, sheets: report.HandoutPages(r, look)}
			if o.pages != "" {
				var alone bytes.Buffer
				if err := plots.WritePDF(&alone, p.sheets...); err != nil {
					return err
				}
				p.alone = alone.Bytes()
			}
			if !together {
				p.sheets = nil
			}
			kept[row.Number] = p
			return nil
		}
	}
	t, err := interruptible(ctx, func() (*class.Table, error) { return class.Run(ctx, job) })
	if err != nil {
		return nil, nil, err
	}
	if o.sort == byDistance {
		t.ByDistance()
	}
	var pages []classPage // in the order of the rows
	for _, row := range t.Rows {
		if kept[row.Number].number > 0 {
			pages = append(pages, kept[row.Number])
		}
	}
	return t, pages, nil
}

// documents are the outputs. Where no mix could be read there is no page.
func (o *classOptions) documents(t *class.Table, pages []classPage) ([]document, error) {
	writers := map[string]func(io.Writer) error{
		".csv":  func(w io.Writer) error { return class.CSV(w, t, o.decimalComma) },
		".json": func(w io.Writer) error { return class.JSON(w, t) },
		".txt":  func(w io.Writer) error { return class.Text(w, t) },
		".html": func(w io.Writer) error { return class.Overview(w, t) },
		".pdf": func(w io.Writer) error {
			var sheets []*plots.Figure
			for _, p := range pages {
				sheets = append(sheets, p.sheets...)
			}
			return plots.WritePDF(w, sheets...)
		},
	}
	var all []document
	for _, path := range o.files {
		if end := extension(path); end != ".pdf" || len(pages) > 0 {
			all = append(all, document{path, writers[end]})
		}
	}
	if o.pages == "" {
		return all, nil
	}
	var names []string
	for _, p := range pages {
		names = append(names, p.name)
	}
	for i, name := range class.PageNames(names, ".pdf") {
		path := filepath.Join(o.pages, name)
		if err := writable(path, slices.Concat(o.mixes, o.references)); err != nil {
			return nil, err
		}
		all = append(all, document{path, func(w io.Writer) error {
			_, err := w.Write(pages[i].alone)
			return err
		}})
	}
	return all, nil
}

// wrote says what was written, the pages of a folder in one line.
func (o *classOptions) wrote(stdout io.Writer, documents []document) {
	n := len(documents)
	for _, path := range o.files {
		if slices.ContainsFunc(documents, func(d document) bool { return d.path == path }) {
			wrote(stdout, []string{path})
			n--
		}
	}
	if n > 0 {
		fmt.Fprintf(stdout, "wrote %d %s into %s\n", n, map[bool]string{true: "page", false: "pages"}[n == 1], report.Printable(strings.TrimSuffix(o.pages, string(filepath.Separator))))
	}
}
