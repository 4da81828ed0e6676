package cli

import (
	"context"
	"fmt"
	"io"
	"maps"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"toneplumb/match"
	"toneplumb/match/page"
	"toneplumb/match/report"
)

// outputOptions say what comes out and how.
type outputOptions struct {
	files   []string
	json    bool
	plain   bool // without the names of the recordings
	size    string
	look    report.Look
	pages   bool   // .png and .svg are pages to hand out too
	paper   string // of those
	handout report.HandoutLook
	sound   *page.Sound // of a page; nil: none
}

// defaultSize is that of a chart, defaultPaper that of a page to hand out.
const (
	defaultSize  = "1350x990"
	defaultPaper = "a4"
)

// add gives a command the flags of its output, whose files are of the kinds named.
func (o *outputOptions) add(cmd *cobra.Command, kinds string) {
	f := cmd.Flags()
	f.StringArrayVarP(&o.files, "output", "o", nil, "also write `FILE`: "+kinds+";\nmay be given more than once")
	f.BoolVar(&o.json, "json", false, "print one JSON document instead of text")
	f.StringVar(&o.size, "size", defaultSize, "size of a chart in `PIXELS`")
	o.look.DPI = 150
	f.Var(&number{&o.look.DPI, readAboveZero}, "dpi", "resolution of a picture in pixels per inch, as `N`; says how large a chart prints")
	f.BoolVar(&o.look.Dark, "dark", false, "a chart in light lines on dark paper")
}

// addPages gives a command those flags, and what it takes to hand out pages.
func (o *outputOptions) addPages(cmd *cobra.Command) {
	o.add(cmd, "a chart .png or .svg, a page .html or to hand out\n.pdf, settings .json, text .txt")
	f := cmd.Flags()
	addPlain(cmd, &o.plain)
	f.BoolVar(&o.pages, "handout", false, "make .png and .svg pages to hand out too, not charts")
	f.StringVar(&o.paper, "paper", defaultPaper, "`SIZE` of a page to hand out: a4 or letter")
	f.BoolVar(&o.handout.Sideways, "sideways", false, "a page to hand out lies on its long side")
	f.BoolVar(&o.handout.Blank, "blank", false, "a page to hand out is an exercise without the moves; in a .pdf the solution follows")
}

// addPlain gives a command the flag that keeps names out.
func addPlain(cmd *cobra.Command, plain *bool) {
	cmd.Flags().BoolVar(plain, "plain", false, "leave the names of all recordings out of what is written and printed")
}

// output is a file to be written, and how.
type output struct {
	path  string
	write func(io.Writer, *match.Result) error
}

type outputs []output

// writers by extension.
func (o *outputOptions) writers(ctx context.Context) map[string]func(io.Writer, *match.Result) error {
	w := map[string]func(io.Writer, *match.Result) error{
		".png":  func(w io.Writer, r *match.Result) error { return report.Chart(w, r, o.look) },
		".svg":  func(w io.Writer, r *match.Result) error { return report.ChartSVG(w, r, o.look) },
		".html": func(w io.Writer, r *match.Result) error { return page.Write(ctx, w, r, o.sound) },
		".pdf":  func(w io.Writer, r *match.Result) error { return report.Handout(w, o.handout, r) },
		".json": report.JSON,
		".txt":  report.Text,
	}
	if o.pages {
		w[".png"] = func(w io.Writer, r *match.Result) error { return report.HandoutPNG(w, r, o.handout) }
		w[".svg"] = func(w io.Writer, r *match.Result) error { return report.HandoutSVG(w, r, o.handout) }
	}
	return w
}

// planPages checks what is said of pages to hand out, and that there is one to say it of.
func (o *outputOptions) planPages() error {
	var err error
	if o.handout.Letter, err = isLetter(o.paper); err != nil {
		return err
	}
	o.handout.DPI = o.look.DPI
	pages := slices.ContainsFunc(o.files, func(path string) bool {
		end := strings.ToLower(filepath.Ext(path))
		return end == ".pdf" || o.pages && (end == ".png" || end == ".svg")
	})
	if said := o.pages || o.handout != (report.HandoutLook{DPI: o.look.DPI}); said && !pages {
		return fail("name one, as -o handout.pdf; a .png or .svg becomes one with --handout",
			"--handout, --paper, --sideways and --blank are for pages to hand out, and no output is one")
	}
	switch {
	case o.pages && (o.look.Dark || o.size != defaultSize):
		return fail("leave them out, or write the chart by a second command", "--dark and --size are for charts, and with --handout there is none")
	case !o.pages:
		return nil
	}
	if err := o.handout.Check(); err != nil {
		return fail("see --help", "the page cannot be drawn: %s", err)
	}
	return nil
}

// isLetter tells whether a page is US letter; else it is A4.
func isLetter(paper string) (bool, error) {
	switch strings.ToLower(paper) {
	case defaultPaper:
		return false, nil
	case "letter":
		return true, nil
	}
	return false, fail("use --paper a4 or --paper letter", "--paper %q is no size of paper known here", paper)
}

// hasPage tells whether a page is to be written.
func (o *outputOptions) hasPage() bool {
	return slices.ContainsFunc(o.files, func(path string) bool { return extension(path) == ".html" })
}

// plan checks before the long work what check does, and returns what is to be written.
func (o *outputOptions) plan(ctx context.Context, inputs []string) (outputs, error) {
	if err := o.check(inputs, slices.Sorted(maps.Keys(o.writers(ctx)))); err != nil {
		return nil, err
	}
	if err := o.planPages(); err != nil {
		return nil, err
	}
	var all outputs
	for _, path := range o.files {
		all = append(all, output{path, o.writers(ctx)[extension(path)]})
	}
	return all, nil
}

func extension(path string) string { return strings.ToLower(filepath.Ext(path)) }

// check tells that the look of charts is possible, that each path names a format and
// can be written, and is none of the inputs.
func (o *outputOptions) check(inputs, formats []string) error {
	width, height, found := strings.Cut(o.size, "x")
	var err1, err2 error
	o.look.WidthPx, err1 = strconv.Atoi(width)
	o.look.HeightPx, err2 = strconv.Atoi(height)
	if !found || err1 != nil || err2 != nil {
		return fail("write it as width x height in pixels, --size 1350x990", "--size %q is no size", o.size)
	}
	if err := o.look.Check(); err != nil {
		return fail("see --help", "the chart cannot be drawn: %s", err)
	}
	for i, path := range o.files {
		if !slices.Contains(formats, extension(path)) {
			n := len(formats)
			return fail("end it in "+strings.Join(formats[:n-1], ", ")+" or "+formats[n-1], "output %q: its extension names no format", path)
		}
		if err := writable(path, inputs); err != nil {
			return err
		}
		for _, other := range o.files[:i] {
			if samePath(other, path) {
				return fail("name each output once", "output %q is named twice", path)
			}
		}
	}
	return nil
}

// deliver writes the outputs and prints the result.
func (all outputs) deliver(ctx context.Context, r *match.Result, o outputOptions, stdout io.Writer) error {
	if err := all.write(ctx, r); err != nil {
		return err
	}
	if o.json {
		return report.JSON(stdout, r)
	}
	if err := report.Text(stdout, r); err != nil {
		return err
	}
	wrote(stdout, o.files)
	return nil
}

// wrote says which files were written.
func wrote(stdout io.Writer, paths []string) {
	for _, path := range paths {
		fmt.Fprintf(stdout, "wrote %s\n", report.Printable(path))
	}
}

// write renders all outputs and puts them in place.
func (all outputs) write(ctx context.Context, r *match.Result) error {
	var documents []document
	for _, out := range all {
		documents = append(documents, document{out.path, func(w io.Writer) error { return out.write(w, r) }})
	}
	return putInPlace(ctx, documents)
}
