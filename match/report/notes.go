package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"toneplumb/match/words"
	"toneplumb/plots"
	"toneplumb/spectrum/finding"
)

// noteCells is about how many letters of a footnote a line has; on a chart of the default shape 170.
func (l ChartOptions) noteCells() int {
	wide := float64(cmp.Or(l.WidthPx, plots.DefaultWidthPx)) / plots.DefaultWidthPx
	unit := min(wide, float64(cmp.Or(l.HeightPx, plots.DefaultHeightPx))/plots.DefaultHeightPx)
	if l.Steady {
		unit = cmp.Or(l.DPI, plots.DefaultDPI) / plots.DefaultDPI
	}
	return int(170 * wide / unit)
}

// codes returns the code of each finding.
func codes(all finding.List) []string {
	var some []string
	for _, f := range all {
		some = append(some, f.Code())
	}
	return some
}

// thatFit returns the remarks that have room in so many lines of so many letters, the first in any case, and one that
// has the codes of the others in words: whoever has a chart may have no more than that. Bulleted, neighbours share a
// line where both fit, see [plots.Figure.Footnotes].
func thatFit(remarks, codes []string, lines, cells int, bulleted bool) []string {
	last := cells // letters in the last line
	for i, text := range remarks {
		wide := Cells(text)
		if bulleted {
			wide += Cells("• ")
		}
		if last += 1 + wide; !bulleted || last > cells {
			last, lines = wide, lines-(wide+cells-1)/cells
		}
		if lines < 0 && i > 0 {
			return append(remarks[:i:i], "No room here for: "+words.List(slices.Compact(namesOf(codes[i:])))+".")
		}
	}
	return remarks
}

// namesOf returns codes as words: "large moves".
func namesOf(codes []string) []string {
	var all []string
	for _, c := range codes {
		all = append(all, strings.ReplaceAll(c, "-", " "))
	}
	return all
}

// FirstOf returns at most that many lines. If there are more, the last counts the rest, in the
// format more.
func FirstOf(lines []string, most int, more string) []string {
	if len(lines) <= most {
		return lines
	}
	return append(lines[:most-1:most-1], fmt.Sprintf(more, len(lines)-most+1))
}

func bulleted(remarks []string) []string {
	var all []string
	for _, text := range remarks {
		all = append(all, "• "+text)
	}
	return all
}
