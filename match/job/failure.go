package job

import (
	"fmt"
	"io"

	"toneplumb/spectrum/audio"
)

// Failure is an error for the user: what happened, and what to do about it. An error about a
// single file that cannot be opened or used as a recording is an [*audio.Error] instead.
type Failure struct{ What, Hint string }

// Error returns what happened.
func (f *Failure) Error() string { return f.What }

// Fail returns a [*Failure] with a formatted text. %q quotes strings as [audio.Quote] does.
func Fail(hint, format string, args ...any) error {
	for i, arg := range args {
		if text, is := arg.(string); is {
			args[i] = quotable(text)
		}
	}
	return &Failure{What: fmt.Sprintf(format, args...), Hint: hint}
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
