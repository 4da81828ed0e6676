package class

import (
	"fmt"
	"io"
	"math"
	"strings"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/report"
)

// Text writes the table for a terminal of 80 columns: of each mix its distance and
// verdict, under it the zones that lie over and under the references, and the moves.
func Text(w io.Writer, t *Table) error {
	p := &report.Page{}
	for i, name := range t.References {
		who := "reference"
		if len(t.References) > 1 {
			who += " " + itoa(i+1)
		}
		p.File(who, name, "")
	}
	const nameWidth = 44
	fmt.Fprintf(p, "\n  #  %s distance  verdict\n", report.Pad("mix", nameWidth))
	for _, r := range t.Rows {
		name := report.Pad(report.Shorten(r.Name, nameWidth), nameWidth)
		if r.Problem != "" {
			fmt.Fprintf(p, "%3d  %s        –  not read\n", r.Number, name)
			p.Paragraph("     ", r.Problem)
			continue
		}
		fmt.Fprintf(p, "%3d  %s %5.2f dB  %s\n", r.Number, name, r.DistanceDB, r.Verdict)
		p.Paragraph("     ", zoneWords(r.Zones))
		p.Paragraph("     ", moveWords(r))
	}
	p.WriteString("\n")
	p.Paragraph("", "Zones over and under the references in dB at equal loudness: * differs, ? cannot be told. Distance: the whole tone, level aside.")
	p.Paragraph("", tolerance(t))
	p.Paragraph("", summary(t))
	return p.WriteOut(w)
}

// zoneWords says which zones lie over the references and which under.
func zoneWords(zones []match.ZoneVerdict) string {
	var over, under, out []string
	for _, z := range zones {
		mark := map[match.Verdict]string{match.Differs: "*", match.CannotTell: "?"}[z.Verdict]
		text := fmt.Sprintf("%s %.1f%s", z.Name, math.Abs(z.DifferenceDB), mark)
		switch {
		case z.Why == match.LeftOutZone:
			out = append(out, z.Name)
		case z.DifferenceDB < 0:
			over = append(over, text)
		default:
			under = append(under, text)
		}
	}
	var parts []string
	for _, part := range []struct {
		lead  string
		zones []string
	}{{"over: ", over}, {"under: ", under}, {"left out: ", out}} {
		if len(part.zones) > 0 {
			parts = append(parts, part.lead+strings.Join(part.zones, ", "))
		}
	}
	return strings.Join(parts, "; ")
}

// moveWords are the moves in one line.
func moveWords(r Row) string {
	if len(r.Moves) == 0 {
		return strings.ToLower(r.WhyNoMoves[:1]) + strings.TrimSuffix(r.WhyNoMoves[1:], ".")
	}
	return "moves: " + settings(r)
}

// settings are the moves as they are dialled.
func settings(r Row) string {
	var all []string
	for _, m := range r.Moves {
		width := fmt.Sprintf("Q %.2f", m.Q)
		if m.Shape != biquad.Bell {
			width = report.Width(m)
		}
		all = append(all, fmt.Sprintf("%s %s %s dB %s", m.Shape, match.Hertz(m.Dial.FreqHz), match.Gain(m.GainDB), width))
	}
	if len(all) == 0 {
		return ""
	}
	return strings.Join(append(all, "trim "+match.Gain(r.TrimDB)+" dB"), "; ")
}

// tolerance says where the verdicts come from.
func tolerance(t *Table) string {
	switch n := len(t.References); {
	case t.WithinDB > 0:
		return fmt.Sprintf("Tolerance: ±%.1f dB, as asked for.", t.WithinDB)
	case n < match.EnoughReferences:
		return "Tolerance: ±4.0 dB. One or two references are arrangement as much as tone; three or more tell of a kind of music."
	}
	return "Tolerance: ±2.0 dB, or as far as any of the references lies from their mean in the zone."
}

// summary counts the verdicts.
func summary(t *Table) string {
	text := fmt.Sprintf("%d mixes: %d differ", len(t.Rows), t.Differing())
	if len(t.Rows) == 1 {
		text = fmt.Sprintf("1 mix: %d differs", t.Differing())
	}
	if n := t.Unreadable(); n > 0 {
		text += fmt.Sprintf(", %d not read", n)
	}
	return text + "."
}
