package report

import (
	"errors"

	"github.com/mattn/go-runewidth"

	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// Name returns a file's name without its folder, safe to print.
func Name(path string) string { return measure.NameOf(path) }

// Printable returns a path, safe to print.
func Printable(path string) string { return measure.Printable(path) }

// NameBeside returns a recording's name to print beside its role who; "" if both are the same,
// which means that names are left out.
func NameBeside(who string, r *measure.Recording) string {
	if r.Name == who {
		return ""
	}
	return r.Name
}

// Problem returns what is wrong with a file, without its path.
func Problem(err error) string {
	var a *audio.Error
	if errors.As(err, &a) {
		return Printable(a.Problem)
	}
	return "cannot be read" // other errors may contain the path
}

// terminal knows how many cells of a terminal text takes: none for what combines with a letter,
// two for East Asian letters and pictures.
var terminal = &runewidth.Condition{}

// Cells returns how many cells of a terminal text takes.
func Cells(text string) int { return terminal.StringWidth(text) }

// Shorten replaces the middle of text by … if it is wider than n cells of a terminal.
func Shorten(text string, n int) string {
	if Cells(text) <= n {
		return text
	}
	head := terminal.Truncate(text, (n-1)/2, "")
	return head + terminal.TruncatePrefix(text, n-Cells(head), "…")
}

// Pad fills text with blanks to n cells.
func Pad(text string, n int) string { return terminal.FillRight(text, n) }
