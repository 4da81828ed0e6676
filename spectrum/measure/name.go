package measure

import (
	"path/filepath"
	"strings"
	"unicode"
)

// NameOf is what a file is called in anything that is shown or written: its name without
// the folder, as Printable has it.
func NameOf(path string) string { return Printable(filepath.Base(path)) }

// Printable replaces control characters and those that turn the direction of writing, so
// that a name cannot steer a terminal.
func Printable(text string) string {
	return strings.Map(func(c rune) rune {
		if unicode.Is(unicode.Cc, c) || unicode.Is(unicode.Bidi_Control, c) || c == '\u2028' || c == '\u2029' {
			return '�'
		}
		return c
	}, text)
}
