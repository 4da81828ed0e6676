package cli

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"toneplumb/match/artefact"
	"toneplumb/match/report"
	"toneplumb/plots"
	"toneplumb/spectrum/audio"
)

// outputFlags say what comes out and how.
type outputFlags struct {
	files []string
	json  bool
	size  string
	paper string // of pages to hand out
	style artefact.Style
	drawn []string // the files whose names are drawn
}

// defaultSize is that of a chart, defaultPaper that of a page to hand out.
const (
	defaultSize  = "1350x990"
	defaultPaper = "a4"
)

// addFiles adds the flags of what is written and printed; kinds are those of the files.
func (o *outputFlags) addFiles(cmd *cobra.Command, kinds string) {
	f := cmd.Flags()
	f.StringArrayVarP(&o.files, "output", "o", nil, "also write `FILE`: "+kinds+";\nmay be given more than once")
	f.BoolVar(&o.json, "json", false, "print one JSON document instead of text")
}

// addChart adds the flags of a chart.
func (o *outputFlags) addChart(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringVar(&o.size, "size", defaultSize, "size of a chart in `PIXELS`")
	o.style.Chart.DPI = 150
	f.Var(&number{&o.style.Chart.DPI, readAboveZero}, "dpi", "resolution of a picture in pixels per inch, as `N`; says how large a chart prints")
	f.BoolVar(&o.style.Chart.Dark, "dark", false, "a chart in light lines on dark paper")
}

// addPaper adds the flag of the paper of pages to hand out.
func (o *outputFlags) addPaper(cmd *cobra.Command) {
	cmd.Flags().StringVar(&o.paper, "paper", defaultPaper, "`SIZE` of a page to hand out: a4 or letter")
	complete(cmd, "paper", defaultPaper, "letter")
}

// addMatch adds the flags of all that match writes.
func (o *outputFlags) addMatch(cmd *cobra.Command) {
	o.addFiles(cmd, "a chart .png or .svg, a page .html or to hand out\n.pdf, text .txt, everything .json; or, by the end of its\nname, what matters later: settings.json, moves.csv, curve.csv")
	o.addChart(cmd)
	o.addPaper(cmd)
	f := cmd.Flags()
	f.BoolVar(&o.style.Handout, "handout", false, "make .png and .svg pages to hand out too, not charts")
	f.BoolVar(&o.style.Page.Sideways, "sideways", false, "a page to hand out lies on its long side")
	f.BoolVar(&o.style.Page.Blank, "blank", false, "a page to hand out is an exercise without the moves; in a .pdf the solution follows")
}

// has reports whether a file of that extension is to be written.
func (o *outputFlags) has(end string) bool {
	return slices.ContainsFunc(o.files, func(path string) bool { return extension(path) == end })
}

// parse reads and checks the style.
func (o *outputFlags) parse() error {
	var err error
	if o.style.Page.Letter, err = isLetter(o.paper); err != nil {
		return err
	}
	if o.size == "" { // a command without charts
		return nil
	}
	width, height, found := strings.Cut(o.size, "x")
	var err1, err2 error
	o.style.Chart.WidthPx, err1 = strconv.Atoi(width)
	o.style.Chart.HeightPx, err2 = strconv.Atoi(height)
	if !found || err1 != nil || err2 != nil {
		return fail("write it as width x height in pixels, --size 1350x990", "--size %q is no size", o.size)
	}
	if err := o.style.Chart.Check(); err != nil {
		return fail("see --help", "the chart cannot be drawn: %s", err)
	}
	return o.parsePages()
}

// parsePages checks what is said of pages to hand out, and that there is one to say it of.
func (o *outputFlags) parsePages() error {
	o.style.Page.DPI = o.style.Chart.DPI
	pages := o.has(".pdf") || o.style.Handout && (o.has(".png") || o.has(".svg"))
	if said := o.style.Handout || o.style.Page != (report.HandoutOptions{DPI: o.style.Chart.DPI}); said && !pages {
		return fail("name one, as -o handout.pdf; a .png or .svg becomes one with --handout",
			"--handout, --paper, --sideways and --blank are for pages to hand out, and no output is one")
	}
	switch {
	case o.style.Handout && (o.style.Chart.Dark || o.size != defaultSize):
		return fail("leave them out, or write the chart by a second command", "--dark and --size are for charts, and with --handout there is none")
	case !o.style.Handout:
		return nil
	}
	if err := o.style.Page.Check(); err != nil {
		return fail("see --help", "the page cannot be drawn: %s", err)
	}
	return nil
}

// isLetter reports whether a page is US letter; else it is A4.
func isLetter(paper string) (bool, error) {
	switch strings.ToLower(paper) {
	case defaultPaper, "":
		return false, nil
	case "letter":
		return true, nil
	}
	return false, fail("use --paper a4 or --paper letter", "--paper %q is no size of paper known here", paper)
}

// checkPaths tells before the long work that each path ends in one of the extensions, can be
// written, is none of the inputs, and is named once.
func checkPaths(paths, inputs, extensions []string) error {
	for i, path := range paths {
		if path == "-" {
			return fail("take --json, which prints one document, or name a file", "no output goes to the standard output by -o")
		}
		if !slices.ContainsFunc(extensions, func(end string) bool { return artefact.EndsIn(path, end) }) {
			ends := strings.Join(extensions, ", ")
			if n := len(extensions); n > 1 {
				ends = strings.Join(extensions[:n-1], ", ") + " or " + extensions[n-1]
			}
			return fail("end it in "+ends, "output %q: its extension names no format", path)
		}
		if err := writable(path, inputs); err != nil {
			return err
		}
		for _, other := range paths[:i] {
			if samePath(other, path) {
				return fail("name each output once", "output %q is named twice", path)
			}
		}
	}
	return nil
}

// writable refuses a path that is an input, and what cannot be written: a folder, a
// device, a read-only file, a folder that takes no file.
func writable(path string, inputs []string) error {
	for _, in := range inputs {
		if sameFile(in, path) {
			return fail("choose another name for the output", "output %q is one of the inputs", path)
		}
	}
	return audio.CheckWritable(path)
}

// documentsOf pairs each path with what writes the outcome to it.
func documentsOf[T any](ctx context.Context, paths []string, formats artefact.Formats[T], outcome T, style artefact.Style) []document {
	var all []document
	for _, path := range paths {
		format, _ := formats.For(path) // see checkPaths
		all = append(all, document{path, func(w io.Writer) error { return format.Write(ctx, w, outcome, style) }})
	}
	return all
}

// deliver writes the outcome to its files and prints it, as JSON or as text.
func deliver[T any](ctx context.Context, o *outputFlags, formats artefact.Formats[T], outcome T, stdout io.Writer) error {
	if err := putInPlace(ctx, documentsOf(ctx, o.files, formats, outcome, o.style)); err != nil {
		return err
	}
	if err := printOutcome(ctx, o, formats, outcome, stdout); err != nil || o.json {
		return err
	}
	wrote(stdout, o.files)
	if drawn := o.has(".png") || o.has(".pdf"); drawn && slices.ContainsFunc(o.drawn, func(path string) bool { return plots.Lack(report.Name(path)) }) {
		fmt.Fprintln(stdout, "In pictures and on pages boxes stand for letters that the built-in typeface lacks.")
	}
	return nil
}

// printOutcome prints an outcome as JSON or as text.
func printOutcome[T any](ctx context.Context, o *outputFlags, formats artefact.Formats[T], outcome T, stdout io.Writer) error {
	end := ".txt"
	if o.json {
		end = ".json"
	}
	format, _ := formats.For(end)
	return format.Write(ctx, stdout, outcome, o.style)
}

// wrote says which files were written.
func wrote(stdout io.Writer, paths []string) {
	for _, path := range paths {
		fmt.Fprintf(stdout, "wrote %s\n", report.Printable(path))
	}
}
