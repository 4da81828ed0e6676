package flags

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"toneplumb/match"
	"toneplumb/match/artefact"
	"toneplumb/match/cli/internal/files"
	"toneplumb/match/job"
	"toneplumb/match/report"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
)

// Output holds the flags about what is written and how.
type Output struct {
	Files   []string
	Replace bool // see [AddReplace]
	JSON    bool
	size    string
	paper   string // size of pages to hand out
	Style   artefact.Style
	Drawn   []string // files whose names are drawn in charts
}

const defaultSize = "1350x990" // the size of a chart in pixels

const DefaultPaper = "a4" // the paper of a page to hand out

// AddFiles adds the flags about what is written and printed; kinds lists the possible files.
func (o *Output) AddFiles(cmd *cobra.Command, kinds string) {
	f := cmd.Flags()
	f.StringArrayVarP(&o.Files, "output", "o", nil, "also write `FILE`: "+kinds+";\nmay be given more than once")
	AddReplace(cmd, &o.Replace)
	f.BoolVar(&o.JSON, "json", false, "print one JSON document instead of text")
}

// AddReplace adds the flag that lets outputs replace files. Without it only pictures do, see [files.MadeAnew]: settings,
// descriptions, tables and texts may have been edited, a sheet may have notes on it, a sound may be the only one.
func AddReplace(cmd *cobra.Command, replace *bool) {
	cmd.Flags().BoolVar(replace, "replace", false, "outputs may replace files that are there, though never an input;\na picture (.png, .svg) always does")
}

// AddChart adds the flags about charts.
func (o *Output) AddChart(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringVar(&o.size, "size", defaultSize, "size of a chart in `PIXELS`")
	o.Style.Chart.DPI = 150
	f.Var(&numberFlag{&o.Style.Chart.DPI, readAboveZero}, "dpi", "resolution of a picture in pixels per inch, as `N`; says how large a chart prints")
	f.BoolVar(&o.Style.Chart.Dark, "dark", false, "a chart in light lines on dark paper")
}

// AddPaper adds the flag for the paper of pages to hand out.
func (o *Output) AddPaper(cmd *cobra.Command) {
	cmd.Flags().StringVar(&o.paper, "paper", DefaultPaper, "`SIZE` of a page to hand out: a4 or letter")
	complete(cmd, "paper", DefaultPaper, "letter")
}

// AddMatch adds the flags about everything that match writes.
func (o *Output) AddMatch(cmd *cobra.Command) {
	o.AddFiles(cmd, "a chart .png or .svg, a page .html or to hand out\n.pdf, text .txt, notes .md, everything .json; or, by the end of its\nname, what matters later: settings.json, moves.csv, curve.csv")
	o.AddChart(cmd)
	o.AddPaper(cmd)
	f := cmd.Flags()
	f.BoolVar(&o.Style.Handout, "handout", false, "make .png and .svg pages to hand out too, not charts")
	f.BoolVar(&o.Style.Page.Sideways, "sideways", false, "a page to hand out lies on its long side")
	o.AddBlank(cmd)
}

// AddBlank adds the flag for worksheets.
func (o *Output) AddBlank(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&o.Style.Page.Blank, "blank", false, "a page to hand out is a worksheet without the moves; in a .pdf the solution follows")
}

// AddVariant adds the flag for the number of the worksheet.
func (o *Output) AddVariant(cmd *cobra.Command) {
	cmd.Flags().IntVar(&o.Style.Page.Variant, "variant", 1, fmt.Sprintf("with --blank, worksheet `N` of %d: 1 is the mix as it is, the others are other mixes\nof it, named in the solution", match.MostVariants))
}

// ParseVariant checks and returns the worksheet asked for, 0 for the mix itself.
func (o *Output) ParseVariant() (match.Variant, error) {
	n := o.Style.Page.Variant
	switch {
	case n < 1 || n > int(match.MostVariants):
		return 0, job.Fail(finding.WrongOption, "the mix as it is is --variant 1", "--variant %d is not between 1 and %d", n, match.MostVariants)
	case n == 1:
		o.Style.Page.Variant = 0
		return 0, nil
	case !o.Style.Page.Blank:
		return 0, job.Fail(finding.OptionsClash, "add --blank", "--variant is for worksheets")
	case o.Has(".html"):
		return 0, job.Fail(finding.OptionsClash, "leave one of them out", "--variant is not for a page that plays: it would play the mix as it is")
	}
	return match.Variant(n), nil
}

// Has reports whether a file with that extension, such as ".pdf", is to be written.
func (o *Output) Has(end string) bool {
	return slices.ContainsFunc(o.Files, func(path string) bool { return files.Extension(path) == end })
}

// Parse reads and checks the style.
func (o *Output) Parse() error {
	var err error
	if o.Style.Page.Letter, err = IsLetter(o.paper); err != nil {
		return err
	}
	if o.size == "" { // a command without charts
		return nil
	}
	width, height, found := strings.Cut(o.size, "x")
	var err1, err2 error
	o.Style.Chart.WidthPx, err1 = strconv.Atoi(width)
	o.Style.Chart.HeightPx, err2 = strconv.Atoi(height)
	if !found || err1 != nil || err2 != nil {
		return job.Fail(finding.WrongOption, "write it as width x height in pixels, --size 1350x990", "--size %q is no size", o.size)
	}
	if err := o.Style.Chart.Check(); err != nil {
		return job.Fail(finding.WrongOption, "see --help", "the chart cannot be drawn: %s", err)
	}
	return o.parsePages()
}

// parsePages checks the flags about pages to hand out, and that there is such a page.
func (o *Output) parsePages() error {
	o.Style.Page.DPI = o.Style.Chart.DPI
	pages := o.Has(".pdf") || o.Style.Handout && (o.Has(".png") || o.Has(".svg"))
	if said := o.Style.Handout || o.Style.Page != (report.HandoutOptions{DPI: o.Style.Chart.DPI}); said && !pages {
		return job.Fail(finding.OptionsClash, "name one, as -o handout.pdf; a .png or .svg becomes one with --handout",
			"--handout, --paper, --sideways and --blank are for pages to hand out, and no output is one")
	}
	switch {
	case o.Style.Handout && (o.Style.Chart.Dark || o.size != defaultSize):
		return job.Fail(finding.OptionsClash, "leave them out, or write the chart by a second command", "--dark and --size are for charts, and with --handout there is none")
	case !o.Style.Handout:
		return nil // a .pdf has no pixels: --dpi is of the charts beside it
	}
	if err := o.Style.Page.Check(); err != nil {
		return job.Fail(finding.WrongOption, "see --help", "the page cannot be drawn: %s", err)
	}
	return nil
}

// IsLetter reports whether a size of paper is US letter; "" and "a4" are A4. Others are errors.
func IsLetter(paper string) (bool, error) {
	switch strings.ToLower(paper) {
	case DefaultPaper, "":
		return false, nil
	case "letter":
		return true, nil
	}
	return false, job.Fail(finding.WrongOption, "use --paper a4 or --paper letter", "--paper %q is no size of paper known here", paper)
}

// CheckPaths checks, before the long work, that no path is an input, that each ends in one of the extensions, and
// what [CheckWritable] does.
func CheckPaths(paths, inputs, extensions []string, replace bool) error {
	for _, path := range paths {
		if path == "-" {
			return job.Fail(finding.NoStream, "take --json, which prints one document, or name a file", "no output goes to the standard output by -o")
		}
		if err := notAnInput(path, inputs); err != nil {
			return err
		}
		if !slices.ContainsFunc(extensions, func(end string) bool { return artefact.EndsIn(path, end) }) {
			return job.Fail(finding.UnknownExtension, "end it in "+endsWords(extensions), "output %q: this command writes no %s", path, cmp.Or(files.Extension(path), "file without an extension"))
		}
	}
	return CheckWritable(paths, inputs, replace)
}

// endsWords lists extensions, such as ".png", and then the names that a file may have, such as "settings.json".
func endsWords(ends []string) string {
	either := func(all []string) string {
		if n := len(all); n > 1 {
			return strings.Join(all[:n-1], ", ") + " or " + all[n-1]
		}
		return strings.Join(all, "")
	}
	var extensions, names []string
	for _, end := range ends {
		if strings.HasPrefix(end, ".") {
			extensions = append(extensions, end)
		} else {
			names = append(names, end)
		}
	}
	switch {
	case names == nil && len(extensions) == 1:
		return extensions[0] + ", the only kind it writes"
	case names == nil:
		return either(extensions)
	}
	return either(extensions) + ", or name it " + either(names)
}

// CheckWritable checks that each path is [Writable], and is named only once.
func CheckWritable(paths, inputs []string, replace bool) error {
	for i, path := range paths {
		if err := Writable(path, inputs, replace); err != nil {
			return err
		}
		if slices.ContainsFunc(paths[:i], func(other string) bool { return files.SamePath(other, path) }) {
			return job.Fail(finding.OutputTwice, "name each output once", "output %q is named twice", path)
		}
	}
	return nil
}

func notAnInput(path string, inputs []string) error {
	if slices.ContainsFunc(inputs, func(in string) bool { return files.Same(in, path) }) {
		return job.Fail(finding.WouldOverwrite, "choose another name for the output", "output %q is one of the inputs", path)
	}
	return nil
}

// Writable returns an error if a path is an input or cannot be written: a folder, a device, a
// read-only file, or a file in a folder that cannot be written; or if it is there and neither replace is true nor it is [files.MadeAnew].
func Writable(path string, inputs []string, replace bool) error {
	if err := notAnInput(path, inputs); err != nil {
		return err
	}
	if err := audio.CheckWritable(path); err != nil {
		return err
	}
	if _, err := os.Stat(path); err == nil && !replace && !files.MadeAnew(path) {
		return job.Fail(finding.WouldOverwrite, "choose another name, or add --replace", "output %q is there already", path)
	}
	return nil
}

// Documents pairs each path with the function that writes the outcome to it. The paths must have
// passed [CheckPaths].
func Documents[T any](ctx context.Context, paths []string, formats artefact.Formats[T], outcome T, style artefact.Style) []files.File {
	var all []files.File
	for _, path := range paths {
		format, _ := formats.For(path) // see CheckPaths
		all = append(all, files.File{Path: path, Write: func(w io.Writer) error { return format.Write(ctx, w, outcome, style) }})
	}
	return all
}

// Deliver writes the outcome to its files and prints it, as JSON or as text.
func Deliver[T any](ctx context.Context, o *Output, formats artefact.Formats[T], outcome T, stdout io.Writer) error {
	if err := files.Put(ctx, o.Replace, Documents(ctx, o.Files, formats, outcome, o.Style)); err != nil {
		return err
	}
	if err := PrintOutcome(ctx, o, formats, outcome, stdout); err != nil || o.JSON {
		return err
	}
	ReportWritten(stdout, o.Files...)
	o.ReportSolutions(stdout, o.Has(".pdf"), "page 1 is the worksheet, page 2 its solution")
	if o.Has(".png") || o.Has(".pdf") {
		ReportBoxes(stdout, o.Drawn...)
	}
	return nil
}

// PrintOutcome prints an outcome as JSON or as text.
func PrintOutcome[T any](ctx context.Context, o *Output, formats artefact.Formats[T], outcome T, stdout io.Writer) error {
	end := ".txt"
	if o.JSON {
		end = ".json"
	}
	format, _ := formats.For(end)
	style := o.Style
	style.Terminal = true
	return format.Write(ctx, stdout, outcome, style)
}
