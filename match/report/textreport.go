package report

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode"

	"toneplumb/match/words"
)

// Columns is the width in cells of the terminal that text must fit.
const Columns = 80

// noBreak is the blank at which lines do not break.
const noBreak = '\u00a0'

// TextReport builds the text of a command.
type TextReport struct{ strings.Builder }

// Paragraph adds text wrapped to [Columns]. The first line follows lead, the others are indented
// by lead's width. It breaks at blanks, but not before a unit, nor at U+00A0, which is printed
// as a blank.
func (p *TextReport) Paragraph(lead, text string) {
	indent := strings.Repeat(" ", Cells(lead))
	line, bare := lead, true
	breaks := func(c rune) bool { return c != noBreak && unicode.IsSpace(c) }
	for _, word := range strings.FieldsFunc(keepUnits(text), breaks) {
		word = strings.ReplaceAll(word, string(noBreak), " ")
		switch {
		case bare:
			line += word
		case Cells(line)+1+Cells(word) > Columns:
			p.WriteString(strings.TrimRight(line, " ") + "\n")
			line = indent + word
		default:
			line += " " + word
		}
		bare = false
	}
	p.WriteString(strings.TrimRight(line, " ") + "\n")
}

// File adds a line with a file's role, its name, cut in its middle, and some words at the
// end.
func (p *TextReport) File(who, path, words string) {
	lead := fmt.Sprintf("%-11s  ", who)
	room := Columns - Cells(lead) - 2 - Cells(words)
	p.WriteString(lead + Pad(Shorten(Name(path), room), room) + "  " + words + "\n")
}

// Warnings adds a list under "watch out:", if there are any.
func (p *TextReport) Warnings(warnings []string) { p.list("watch out:", warnings) }

// list adds a list under a heading, unless it is empty.
func (p *TextReport) list(heading string, items []string) {
	if len(items) > 0 {
		p.WriteString("\n" + heading + "\n")
	}
	for _, text := range items {
		p.Paragraph("- ", text)
	}
}

// WriteOut writes the text to w.
func (p *TextReport) WriteOut(w io.Writer) error {
	_, err := io.WriteString(w, p.String())
	return err
}

// Level writes a level with that many decimals and a minus sign, but no plus: it is not a gain.
func Level(db float64, decimals int) string { return words.Fixed(db, decimals, "−") }

// Number is a number in JSON, written with at most four decimals: far finer than anything
// measured here, and the same on every processor. NaN and infinities become null.
type Number float64

// MarshalJSON implements json.Marshaler.
func (n Number) MarshalJSON() ([]byte, error) {
	x := math.Round(float64(n)*1e4) / 1e4
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return []byte("null"), nil
	}
	if x == 0 {
		x = 0 // not −0
	}
	return strconv.AppendFloat(nil, x, 'f', -1, 64), nil
}

// Known returns a pointer to x, for a field that may be null.
func Known(x float64) *Number { return new(Number(x)) }

// KnownIf is [Known] if it is known, else nil.
func KnownIf(known bool, x float64) *Number {
	if !known {
		return nil
	}
	return Known(x)
}

// WriteJSON writes one indented document. The error is w's.
func WriteJSON(w io.Writer, document any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	return e.Encode(document)
}
