package cli

import (
	"io"

	"toneplumb/match/job"
	"toneplumb/spectrum/parallel"
)

// reader returns a reader whose progress shows on a terminal until end is called. Open may
// be nil.
func reader(open job.Opener, stderr io.Writer) (r job.Reader, end func()) {
	shown := newProgress(stderr)
	return job.Reader{Open: open, Watch: shown.watch}, shown.end
}

// unread tells each error of many files, those of the rest being done, and returns that of
// the command; of one file it returns the error itself.
func unread(stderr io.Writer, errs []error) error {
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
			printError(stderr, err)
		}
	}
	if n == len(errs) {
		return fail("each of them says why", "none of %d could be read", n)
	}
	return fail("the others are done", "%d of %d could not be read", n, len(errs))
}
