package cli

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"toneplumb/match/report"
	"toneplumb/spectrum/audio"
)

// columns is the width of a terminal that text must fit.
const columns = 80

// page gathers the text of a command.
type page struct{ strings.Builder }

// file is a line with a file's name, cut in its middle, and some words at its end.
func (p *page) file(who, path, words string) {
	room := columns - 13 - 2 - len([]rune(words))
	name := report.Shorten(report.Name(path), room)
	fmt.Fprintf(p, "%-11s  %s%s  %s\n", who, name, strings.Repeat(" ", room-len([]rune(name))), words)
}

// paragraph is text wrapped to the columns, its first line after lead and the others
// under it.
func (p *page) paragraph(lead, text string) {
	line := lead
	for i, word := range strings.Fields(text) {
		switch {
		case i == 0:
			line += word
		case len([]rune(line))+1+len([]rune(word)) > columns:
			p.WriteString(line + "\n")
			line = strings.Repeat(" ", len(lead)) + word
		default:
			line += " " + word
		}
	}
	p.WriteString(line + "\n")
}

// mind lists what to mind, if there is anything.
func (p *page) mind(warnings []string) {
	if len(warnings) == 0 {
		return
	}
	p.WriteString("\nmind:\n")
	for _, w := range warnings {
		p.paragraph("- ", w)
	}
	p.WriteString("\n")
}

func (p *page) writeTo(w io.Writer) error {
	_, err := io.WriteString(w, p.String())
	return err
}

// level writes a level, whose minus sign is no correction, with one decimal.
func level(db float64) string { return minus(fmt.Sprintf("%.1f", db)) }

// level2 writes it with two decimals.
func level2(db float64) string { return minus(fmt.Sprintf("%.2f", db)) }

// minus makes the hyphen before a number a minus sign; 0 has none.
func minus(number string) string {
	if strings.Trim(number, "-0.") == "" {
		number = strings.TrimPrefix(number, "-")
	}
	return strings.Replace(number, "-", "−", 1)
}

// formatWords are a recording's rate, channels and samples.
func formatWords(f audio.Format) string {
	channels := map[int]string{1: "mono", 2: "stereo"}[f.Channels]
	if channels == "" {
		channels = fmt.Sprintf("%d channels", f.Channels)
	}
	return fmt.Sprintf("%g kHz %s, %s", float64(f.RateHz)/1000, channels, f.Encoding)
}

// figure is a number in JSON: four decimals at most; NaN and infinities are null.
type figure float64

// MarshalJSON implements json.Marshaler.
func (n figure) MarshalJSON() ([]byte, error) {
	x := math.Round(float64(n)*1e4) / 1e4
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return []byte("null"), nil
	}
	if x == 0 {
		x = 0 // not −0
	}
	return strconv.AppendFloat(nil, x, 'f', -1, 64), nil
}

func known(x float64) *figure { n := figure(x); return &n }

// writeJSON writes one document.
func writeJSON(w io.Writer, document any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	return e.Encode(document)
}
