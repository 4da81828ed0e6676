package class

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

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
	title, sharing := wallTitle(t)
	f := &plots.Wall{
		Title:  title,
		Line:   fmt.Sprintf("dB over (+) or under (−) the %s; %snear enough by a wide tolerance alone", words.Plural(len(t.References), "reference", "references"), marks),
		Note:   "Level ignored; a zone is off if the whole likely range lies beyond the tolerance. The tool advises; the ear decides.",
		Letter: letter,
	}
	for _, z := range match.Zones() {
		f.Columns = append(f.Columns, z.Name)
	}
	if text := shared(t); text != "" && !sharing {
		f.Note = text + " " + f.Note
	}
	if t.History {
		f.Columns = append(f.Columns, "since then")
		f.Note = "Right: change of distance, − is nearer. " + f.Note
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
			row.Cells = append(row.Cells, plots.WallCell{Text: wholeDB(-z.DifferenceDB) + verdictMark(z), Shade: z.DifferenceDB / darkestDB, Heavy: z.Verdict == match.Differs})
		}
		if t.History {
			row.Cells = append(row.Cells, plots.WallCell{Text: sinceCell(r)})
		}
		f.Rows = append(f.Rows, row)
	}
	if text := t.whyLeftOut(); text != "" {
		f.Note = text + " " + f.Note
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

// whyLeftOut explains the cells that are left out, with the first reasons, "" if none is.
func (t *Table) whyLeftOut() string {
	const most = 2 // our choice: the page has the rest
	var all []string
	for _, r := range t.Rows {
		for _, z := range r.Zones {
			if z.Why != match.LeftOutZone {
				continue
			}
			text := fmt.Sprintf("%s (%s)", z.Name, words.ExclusionInShort(z.LeftOut))
			if z.LeftOut.Side.IsMix() && z.LeftOut.Cause != match.OutsideRange {
				text = stem(r.Name) + ", " + text
			}
			if !slices.Contains(all, text) {
				all = append(all, text)
			}
		}
	}
	switch n := len(all); {
	case n == 0:
		return ""
	case n > most:
		all = append(all[:most], "and others")
	}
	return "– is left out: " + strings.Join(all, "; ") + "."
}

// wallTitle returns the gravest of what most mixes share or, if none of those is off or unusual there, of what single
// mixes have; without either how many mixes there are. sharing reports whether it is the first.
func wallTitle(t *Table) (title string, sharing bool) {
	most, grave := "", false
	if shared := t.Shared(); len(shared) > 0 {
		s := slices.MinFunc(shared, byGravity)
		most, grave = words.UpperFirst(s.words(s.Name)), s.Off+s.Unusual > 0
	}
	if text := cmp.Or(t.farthestWith(match.Differs), t.farthestWith(match.Unusual)); !grave && text != "" {
		return text, false
	}
	if most != "" {
		return most, true
	}
	n := len(t.Rows) - t.Unreadable()
	if n < fewestShared {
		return fmt.Sprintf("%d %s, zone by zone", n, words.Plural(n, "mix", "mixes")), false
	}
	return fmt.Sprintf("%d mixes, zone by zone: most share nothing", n), false
}

// farthestWith says how many mixes have a zone with a verdict, and where the farthest of those is; "" for none.
func (t *Table) farthestWith(v match.Verdict) string {
	var all []match.ZoneVerdict
	n := t.count(func(r Row) bool {
		before := len(all)
		for _, z := range r.Zones {
			if z.Verdict == v {
				all = append(all, z)
			}
		}
		return len(all) > before
	})
	if n == 0 {
		return ""
	}
	z := slices.MaxFunc(all, func(a, b match.ZoneVerdict) int {
		return cmp.Compare(math.Abs(a.DifferenceDB), math.Abs(b.DifferenceDB))
	})
	return fmt.Sprintf("%d of %d mixes %s %s, farthest in the %s (%.0f dB %s)", n, len(t.Rows)-t.Unreadable(), words.Plural(n, "is", "are"), v,
		z.Name, math.Abs(z.DifferenceDB), words.Either(z.DifferenceDB < 0, "over", "under"))
}
