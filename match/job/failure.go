package job

import (
	"fmt"
	"io"

	"toneplumb/spectrum/audio"
)

// Failure is an error for a person that is not about one file: what happened, and what to
// do. One about a file is an [audio.Error].
type Failure struct{ What, Hint string }

// Error is what happened.
func (f *Failure) Error() string { return f.What }

// Fail returns a Failure whose text is formatted. %q quotes text as [audio.Quote] does.
func Fail(hint, format string, args ...any) error {
	for i, arg := range args {
		if text, is := arg.(string); is {
			args[i] = quotable(text)
		}
	}
	return &Failure{What: fmt.Sprintf(format, args...), Hint: hint}
}

// quotable is text whose %q is [audio.Quote].
type quotable string

// Format implements fmt.Formatter.
func (q quotable) Format(s fmt.State, verb rune) {
	if verb == 'q' {
		io.WriteString(s, audio.Quote(string(q)))
		return
	}
	fmt.Fprintf(s, fmt.FormatString(s, verb), string(q))
}
