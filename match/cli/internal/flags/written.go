package flags

import (
	"fmt"
	"io"
	"slices"

	"toneplumb/match/report"
	"toneplumb/plots"
)

// ReportBoxes says that pictures or pages with the names of these files have boxes in them, if they have.
func ReportBoxes(stdout io.Writer, drawn ...string) {
	if slices.ContainsFunc(drawn, func(path string) bool { return plots.Lack(report.Name(path)) }) {
		fmt.Fprintln(stdout, "In pictures and on pages boxes stand for letters that the built-in typeface lacks.")
	}
}

// ReportSolutions says, if worksheets were written as .pdf, which pages not to hand out.
func (o *Output) ReportSolutions(w io.Writer, written bool, which string) {
	if o.Style.Page.Blank && written {
		fmt.Fprintf(w, "In the .pdf %s: do not print all of it for a class.\n", which)
	}
}

// ReportWritten prints which files were written; "" is none.
func ReportWritten(w io.Writer, paths ...string) {
	for _, path := range paths {
		if path != "" {
			fmt.Fprintf(w, "wrote %s\n", report.Printable(path))
		}
	}
}
