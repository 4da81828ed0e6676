package forms

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strings"

	"toneplumb/match"
	"toneplumb/match/report"
	"toneplumb/match/tracks"
	"toneplumb/match/words"
)

// Text writes the advice for a terminal of 80 columns.
func Text(w io.Writer, a *tracks.Advice) error {
	var t report.TextReport
	t.File("mix", a.Result.Mix.Name, report.Figures(a.Result.Mix, "  "))
	for i, ref := range a.Result.References {
		t.File(match.ReferenceLabel(i, len(a.Result.References)), ref.Name, report.Figures(ref, "  "))
	}
	t.WriteString("\n")
	tracksShares(&t, a)
	t.WriteString("\n")
	tracksPlan(&t, a)
	if why := words.NoMasterMoves(a); why != "" {
		t.Paragraph("", why)
	}
	for i := range a.Moves {
		if a.PlanReplacesMoves() {
			break
		}
		t.Paragraph(fmt.Sprintf("move %d  ", i+1), words.Setting(a.Moves[i].Filter))
		for _, text := range words.TrackMove(a, a.Moves[i]) {
			t.Paragraph("    ", text)
		}
	}
	if len(a.Moves) > 0 && anyHeard(a) && !a.PlanReplacesMoves() {
		tracksChanges(&t, a)
	}
	tracksPairs(&t, a)
	tracksList(&t, lowCutsHeading, words.LowCuts(a))
	tracksList(&t, placingsHeading, words.Placings(a))
	t.WriteString("\n")
	t.Paragraph("", words.ByEar)
	t.Warnings(words.TrackFindings(a))
	return t.WriteOut(w)
}

// tracksPlan prints the steps of the plan.
func tracksPlan(t *report.TextReport, a *tracks.Advice) {
	if words.PlanHeading(a) == "" {
		for _, note := range words.PlanNotes(a) {
			t.Paragraph("", note)
			t.WriteString("\n")
		}
		return
	}
	t.WriteString(words.PlanHeading(a) + ":\n")
	for i, step := range words.PlanSteps(a) {
		t.Paragraph(fmt.Sprintf("%2d  ", i+1), step)
	}
	for _, note := range words.PlanNotes(a) {
		t.Paragraph("    ", note)
	}
	if !a.PlanReplacesMoves() {
		t.WriteString("\n")
	}
}

// trackCell returns a track's name, shortened or padded to a number of cells.
func trackCell(a *tracks.Advice, i, cells int) string {
	return report.Pad(report.Shorten(report.Printable(a.Tracks[i].Name), cells), cells)
}

func percent(share float64) string { return report.Level(100*share, 0) }

// zoneCells returns the names of the zones and the share of each that is of no track.
func zoneCells(a *tracks.Advice) (names, rest []string) {
	for _, z := range a.Zones {
		names, rest = append(names, z.Name), append(rest, percent(z.RestShare))
	}
	return names, rest
}

// shareCells returns a track's share of each zone.
func shareCells(t tracks.Track) (cells []string) {
	for _, share := range t.ShareOfZones {
		text := percent(share)
		if t.State != tracks.Heard {
			text = "–"
		}
		cells = append(cells, text)
	}
	return cells
}

// changeCells returns the change of a track's loudness by each move on the master and by all.
func changeCells(t tracks.Track) (cells []string) {
	for _, lu := range t.MoveLU {
		cells = append(cells, words.FormatGain(lu))
	}
	return append(cells, words.FormatGain(t.AllMovesLU))
}

// zoneWidths are the widths of the zones' columns in cells.
var zoneWidths = []int{6, 6, 10, 6, 11, 7, 6}

// tracksShares prints each track's share of each zone.
func tracksShares(t *report.TextReport, a *tracks.Advice) {
	const nameCells = 22
	t.WriteString(sharesHeading + ":\n")
	row := func(lead string, cells []string) {
		line := lead
		for z, width := range zoneWidths {
			line += strings.Repeat(" ", max(1, width-report.Cells(cells[z]))) + cells[z]
		}
		t.WriteString(strings.TrimRight(line, " ") + "\n")
	}
	names, rest := zoneCells(a)
	row(" #  "+strings.Repeat(" ", nameCells), names)
	for i, track := range a.Tracks {
		row(fmt.Sprintf("%2d  %s", i+1, trackCell(a, i, nameCells)), shareCells(track))
	}
	row(fmt.Sprintf("    %-*s", nameCells, "no track"), rest)
	t.Paragraph("", words.NoTrack)
}

// tracksChanges prints the change of each track's loudness by the moves on the master.
func tracksChanges(t *report.TextReport, a *tracks.Advice) {
	const nameCells = 22
	t.WriteString("\n" + changesHeading + ":\n")
	line := " #  " + strings.Repeat(" ", nameCells)
	for i := range a.Moves {
		line += fmt.Sprintf("%6d", i+1)
	}
	t.WriteString(line + "   all\n")
	for i, track := range a.Tracks {
		if track.State != tracks.Heard {
			continue
		}
		fmt.Fprintf(t, "%2d  %s", i+1, trackCell(a, i, nameCells))
		for _, change := range changeCells(track) {
			fmt.Fprintf(t, "%6s", change)
		}
		t.WriteString("\n")
	}
}

func tracksPairs(t *report.TextReport, a *tracks.Advice) {
	t.WriteString("\n" + pairsHeading(a) + ":\n")
	if len(a.Pairs) == 0 {
		t.Paragraph("    ", words.NoPairs(a))
	}
	for _, p := range a.Pairs[:min(mostPairs, len(a.Pairs))] {
		t.Paragraph(fmt.Sprintf("%3.0f%%  ", 100*p.Share), words.Pair(a, p))
	}
	if more := morePairs(a); more != "" {
		t.Paragraph("    ", more)
	}
}

// tracksList prints sentences under a heading, unless there are none.
func tracksList(t *report.TextReport, heading string, all []string) {
	if len(all) > 0 {
		t.WriteString("\n" + heading + ":\n")
	}
	for _, text := range all {
		t.Paragraph("    ", text)
	}
}

// CSV writes the shares of the zones, one track a line; they are empty for tracks not heard.
func CSV(w io.Writer, a *tracks.Advice) error {
	head, rest := []string{"track", "state", "loudness_lufs"}, []string{"", "no track", ""}
	for _, z := range a.Zones {
		head, rest = append(head, "share_"+z.Column()), append(rest, report.Known(z.RestShare).Cell())
	}
	rows := [][]string{head}
	for _, t := range a.Tracks {
		row := []string{t.Name, stateWords[t.State], report.Known(t.LoudnessLUFS).Cell()}
		for _, share := range t.ShareOfZones {
			if t.State != tracks.Heard {
				share = math.NaN()
			}
			row = append(row, report.Known(share).Cell())
		}
		rows = append(rows, row)
	}
	return csv.NewWriter(w).WriteAll(append(rows, rest))
}

// stateWords are the states as written in documents.
var stateWords = map[tracks.State]string{tracks.Heard: "heard", tracks.Silent: "silent", tracks.Absent: "not in the mix", tracks.Duplicate: "same as another"}
