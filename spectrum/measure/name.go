package measure

import (
	"path/filepath"
	"strings"
	"unicode"
)

// NameOf returns the name of a file for anything that is shown or written: the base name,
// made [Printable].
func NameOf(path string) string { return Printable(filepath.Base(path)) }

// Printable replaces control characters and those that change the direction of writing by
// U+FFFD, so that a name cannot control a terminal.
func Printable(text string) string {
	return strings.Map(func(c rune) rune {
		if unicode.Is(unicode.Cc, c) || unicode.Is(unicode.Bidi_Control, c) || c == '\u2028' || c == '\u2029' {
			return '�'
		}
		return c
	}, text)
}
