package job

import (
	"fmt"
	"io"

	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
)

// Failure is an error for the user: what happened, and what to do about it. An error about a
// single file that cannot be opened or used as a recording is an [*audio.Error] instead.
type Failure struct {
	Kind       finding.ErrorKind
	What, Hint string
}

// Error returns what happened.
func (f *Failure) Error() string { return f.What }

// ErrorKind returns the kind; see [finding.KindOf].
func (f *Failure) ErrorKind() finding.ErrorKind { return f.Kind }

// Fail returns a [*Failure] with a formatted text. %q quotes strings as [audio.Quote] does. An error in args that has a
// kind of its own gives it in place of kind.
func Fail(kind finding.ErrorKind, hint, format string, args ...any) error {
	for i, arg := range args {
		switch arg := arg.(type) {
		case string:
			args[i] = quotable(arg)
		case error:
			kind = finding.KindOf(arg, kind)
		}
	}
	return &Failure{Kind: kind, What: fmt.Sprintf(format, args...), Hint: hint}
}

// quotable is a string that %q formats with [audio.Quote].
type quotable string

// Format implements [fmt.Formatter].
func (q quotable) Format(s fmt.State, verb rune) {
	if verb == 'q' {
		io.WriteString(s, audio.Quote(string(q)))
		return
	}
	fmt.Fprintf(s, fmt.FormatString(s, verb), string(q))
}
