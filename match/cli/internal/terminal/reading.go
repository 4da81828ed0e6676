// Package terminal shows on a terminal how far the reading is, and words errors in two lines.
package terminal

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"toneplumb/match/job"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/parallel"
)

// Reader returns a reader whose progress shows on a terminal until end is called. Open may
// be nil.
func Reader(open job.Opener, stderr io.Writer) (r job.Reader, end func()) {
	shown := NewProgress(stderr)
	return job.Reader{Open: open, Watch: shown.Watch}, shown.End
}

// Unread tells each error of many files, those of the rest being done, and returns that of
// the command; of one file it returns the error itself.
func Unread(stderr io.Writer, errs []error) error {
	n := 0
	for _, err := range errs {
		if err != nil {
			n++
		}
	}
	if n == 0 || len(errs) == 1 {
		return parallel.FirstError(errs)
	}
	for _, err := range errs {
		if err != nil {
			PrintError(stderr, err)
		}
	}
	if n == len(errs) {
		return job.Fail("each of them says why", "none of %d could be read", n)
	}
	return job.Fail("the others are done", "%d of %d could not be read", n, len(errs))
}

// PrintError writes an error in two lines.
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
	fmt.Fprintf(w, "toneplumb: %s\n  hint: %s\n", oneLine(what), oneLine(hint))
}

// oneLine keeps an error on its line: cobra's may have several.
func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }
