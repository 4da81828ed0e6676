// Package terminal shows on a terminal how far the reading is, and prints errors in two lines.
package terminal

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"toneplumb/match/job"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/parallel"
)

// Reader returns a reader whose progress is shown on a terminal until end is called. open may be
// nil.
func Reader(open job.Opener, stderr io.Writer) (r job.Reader, end func()) {
	shown := NewProgress(stderr)
	return job.Reader{Open: open, Watch: shown.Watch}, shown.End
}

// SummariseErrors prints each error of reading many files and returns the command's error, nil if there is
// none. For a single file it prints nothing and returns its error.
func SummariseErrors(stderr io.Writer, errs []error) error {
	failed := slices.DeleteFunc(slices.Clone(errs), func(err error) bool { return err == nil })
	if len(failed) == 0 || len(errs) == 1 {
		return parallel.FirstError(errs)
	}
	for _, err := range failed {
		PrintError(stderr, err)
	}
	if len(failed) == len(errs) {
		return job.Fail(finding.SomeFailed, "each of them says why", "none of %d could be read", len(errs))
	}
	return job.Fail(finding.SomeFailed, "the others are done", "%d of %d could not be read", len(failed), len(errs))
}

// PrintError writes an error in two lines: what happened, with its kind, and what to do.
func PrintError(w io.Writer, err error) {
	what, hint := err.Error(), "see toneplumb --help"
	var f *job.Failure
	var a *audio.Error
	switch {
	case errors.Is(err, context.Canceled):
		what, hint = "stopped before it was done", "run it again to finish"
	case errors.As(err, &f):
		hint = f.Hint
	case errors.As(err, &a):
		hint = a.Hint
	}
	fmt.Fprintf(w, "toneplumb: %s [%s]\n  hint: %s\n", oneLine(what), finding.AnyKindOf(err), oneLine(hint))
}

// oneLine joins the lines of a text: cobra's errors may have several.
func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }
