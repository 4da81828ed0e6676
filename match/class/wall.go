package class

import (
	"fmt"
	"math"
	"slices"

	"toneplumb/match"
	"toneplumb/match/words"
	"toneplumb/plots"
)

// darkestDB is the difference at which a zone's shade is darkest. Our choice: beyond the usual
// tolerance of most zones.
const darkestDB = 10

// Wall returns the table as a poster on A3 or, if letter, tabloid paper. It leaves out mixes that
// could not be read.
func Wall(t *Table, letter bool) *plots.Wall {
	f := &plots.Wall{
		Title:  wallTitle(t),
		Line:   fmt.Sprintf("dB over (+) or under (−) the %s; bold: off, !: unusual", words.Plural(len(t.References), "reference", "references")),
		Note:   "Level ignored; a zone is off if the whole likely range lies beyond the tolerance. The tool advises; the ear decides.",
		Letter: letter,
	}
	for _, z := range match.Zones() {
		f.Columns = append(f.Columns, z.Name)
	}
	if t.History {
		f.Columns = append(f.Columns, "since then")
		f.Line += "; right: change of distance, − is nearer"
		f.Note = t.sinceCounts() + " " + f.Note
	}
	left := 0
	for _, r := range t.Rows {
		if r.Problem != "" {
			continue
		}
		if len(f.Rows) == plots.MaxWallRows {
			left++
			continue
		}
		row := plots.WallRow{Name: r.Name}
		if !t.Plain { // then the name is a file's
			row.Name = stem(r.Name)
		}
		for _, z := range r.Zones {
			if z.Why == match.LeftOutZone {
				row.Cells = append(row.Cells, plots.WallCell{Text: "–"})
				continue
			}
			// Orange is over, blue under: the difference is references less mix.
			text := wholeDB(-z.DifferenceDB)
			if z.Verdict == match.Unusual {
				text += verdictMark(z)
			}
			row.Cells = append(row.Cells, plots.WallCell{Text: text, Shade: z.DifferenceDB / darkestDB, Heavy: z.Verdict == match.Differs})
		}
		if t.History {
			row.Cells = append(row.Cells, plots.WallCell{Text: sinceCell(r)})
		}
		f.Rows = append(f.Rows, row)
	}
	if left > 0 {
		f.Note = fmt.Sprintf("%d more mixes are not shown here. ", left) + f.Note
	}
	return f
}

// sinceCell writes by how much a mix's distance has changed since its earlier bounce, "–" without one.
func sinceCell(r Row) string {
	if r.Since == nil {
		return "–"
	}
	return words.FormatGain(r.Since.DistanceNowDB - r.Since.DistanceThenDB)
}

// wholeDB writes a difference in whole dB, to be read from afar: "+7", "−2", "0".
func wholeDB(db float64) string {
	switch db = math.Round(db); {
	case db > 0:
		return fmt.Sprintf("+%.0f", db)
	case db < 0:
		return fmt.Sprintf("−%.0f", -db)
	}
	return "0"
}

// wallTitle returns the gravest of what most mixes share, or how many mixes there are.
func wallTitle(t *Table) string {
	if shared := t.Shared(); len(shared) > 0 {
		most := slices.MinFunc(shared, byGravity)
		return words.UpperFirst(most.words(most.Name))
	}
	n := len(t.Rows) - t.Unreadable()
	if n < fewestShared {
		return fmt.Sprintf("%d %s, zone by zone", n, words.Plural(n, "mix", "mixes"))
	}
	return fmt.Sprintf("%d mixes, zone by zone: most share nothing", n)
}
