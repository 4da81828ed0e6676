package report

import (
	"errors"
	"strings"
	"unicode"

	"golang.org/x/text/width"

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

// Shorten replaces the middle of text by … if it is wider than n cells of a terminal.
func Shorten(text string, n int) string {
	if Cells(text) <= n {
		return text
	}
	runes := []rune(text)
	head, tail, room := 0, len(runes), n-1
	for used := 0; head < len(runes); head++ {
		if used += cell(runes[head]); used > room/2 {
			break
		}
	}
	room -= Cells(string(runes[:head]))
	for used := 0; tail > head; tail-- {
		if used += cell(runes[tail-1]); used > room {
			break
		}
	}
	for tail < len(runes) && cell(runes[tail]) == 0 { // an accent whose letter is cut off
		tail++
	}
	return string(runes[:head]) + "…" + string(runes[tail:])
}

// Pad fills text with blanks to n cells.
func Pad(text string, n int) string {
	return text + strings.Repeat(" ", max(0, n-Cells(text)))
}

// Cells returns how many cells of a terminal text takes.
func Cells(text string) int {
	n := 0
	for _, c := range text {
		n += cell(c)
	}
	return n
}

// cell returns how many cells a rune takes: none if it combines with the one before, two for
// East Asian letters and pictures, one otherwise. Source: Unicode Standard Annex 11, East Asian
// Width, as golang.org/x/text has it.
func cell(c rune) int {
	switch {
	case c < 0x300:
		return 1
	case unicode.In(c, unicode.Mn, unicode.Me, unicode.Cf):
		return 0
	}
	switch width.LookupRune(c).Kind() {
	case width.EastAsianWide, width.EastAsianFullwidth:
		return 2
	}
	return 1
}
