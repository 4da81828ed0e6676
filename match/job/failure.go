package job

import "fmt"

// Failure is an error for a person that is not about one file: what happened, and what to
// do. One about a file is an [audio.Error].
type Failure struct{ What, Hint string }

// Error is what happened.
func (f *Failure) Error() string { return f.What }

// Fail returns a Failure whose text is formatted.
func Fail(hint, format string, args ...any) error {
	return &Failure{What: fmt.Sprintf(format, args...), Hint: hint}
}
