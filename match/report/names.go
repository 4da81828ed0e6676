package report

import (
	"errors"
	"strings"
	"unicode"

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
	if cells(text) <= n {
		return text
	}
	runes := []rune(text)
	head, tail, room := 0, len(runes), n-1
	for used := 0; head < len(runes); head++ {
		if used += cell(runes[head]); used > room/2 {
			break
		}
	}
	room -= cells(string(runes[:head]))
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
	return text + strings.Repeat(" ", max(0, n-cells(text)))
}

// Cells returns how many cells of a terminal text takes.
func Cells(text string) int { return cells(text) }

func cells(text string) int {
	n := 0
	for _, c := range text {
		n += cell(c)
	}
	return n
}

// cell returns how many cells a rune takes: none if it combines with the one before, two for
// East Asian letters and pictures, one otherwise.
func cell(c rune) int {
	switch {
	case c < 0x300:
		return 1
	case unicode.In(c, unicode.Mn, unicode.Me, unicode.Cf):
		return 0
	case unicode.Is(wide, c):
		return 2
	}
	return 1
}

// wide lists the blocks whose letters take two cells. Source: Unicode Standard Annex 11, East
// Asian Width (from memory), by whole blocks; the tests compare it with a table of that annex.
var wide = &unicode.RangeTable{
	R16: []unicode.Range16{
		{Lo: 0x1100, Hi: 0x115f, Stride: 1}, // Hangul, first letters
		{Lo: 0x2329, Hi: 0x232a, Stride: 1}, // angle brackets
		{Lo: 0x2e80, Hi: 0x303e, Stride: 1}, // radicals, punctuation
		{Lo: 0x3041, Hi: 0x3247, Stride: 1}, // kana, Bopomofo, compatibility
		{Lo: 0x3250, Hi: 0x33ff, Stride: 1},
		{Lo: 0x3400, Hi: 0x4dbf, Stride: 1}, // Han, extension A
		{Lo: 0x4e00, Hi: 0x9fff, Stride: 1}, // Han
		{Lo: 0xa000, Hi: 0xa4cf, Stride: 1}, // Yi
		{Lo: 0xa960, Hi: 0xa97f, Stride: 1}, // Hangul, extended
		{Lo: 0xac00, Hi: 0xd7a3, Stride: 1}, // Hangul
		{Lo: 0xf900, Hi: 0xfaff, Stride: 1}, // Han, compatibility
		{Lo: 0xfe10, Hi: 0xfe19, Stride: 1}, // upright forms
		{Lo: 0xfe30, Hi: 0xfe6f, Stride: 1}, // forms of punctuation
		{Lo: 0xff01, Hi: 0xff60, Stride: 1}, // full width
		{Lo: 0xffe0, Hi: 0xffe6, Stride: 1},
	},
	R32: []unicode.Range32{
		{Lo: 0x1f300, Hi: 0x1f64f, Stride: 1}, // pictures
		{Lo: 0x1f900, Hi: 0x1f9ff, Stride: 1},
		{Lo: 0x20000, Hi: 0x3fffd, Stride: 1}, // Han, further
	},
}
