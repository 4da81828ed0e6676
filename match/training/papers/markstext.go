package papers

import (
	"encoding/csv"
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
	"strings"

	"toneplumb/match/report"
	"toneplumb/match/training"
	"toneplumb/match/words"
)

// terms says how answers are compared and marked: [foundTerms], then what is scored.
const terms = foundTerms + " " + scoreTerms

const foundTerms = "A move is found by an answer within an octave that leaves half of it at most. Not found: another was heard in its place. Invented: heard where none was left to find."

// shelvesAlike says which two answers are one.
const shelvesAlike = "A high shelf up and a low shelf down in one place count alike."

const scoreTerms = shelvesAlike + " A render's score is the share of the hidden curve that was heard, less what was heard wrong, 0 at least; the score of a sheet is the mean. " +
	"dB unweighted: heard against hidden, rms, level ignored."

// WriteTextAloud writes the marks of a class in lines that make sense one by one, see
// [report.BlocksAloud]. [WriteText] has the same in columns.
func WriteTextAloud(w io.Writer, c *Class) error {
	return report.BlocksAloud(w, Headline(c), Blocks(c)...)
}

// WriteText writes the marks of a class for a terminal of 80 columns: each student's renders, the
// table of the class, and what was taken for what.
func WriteText(w io.Writer, c *Class) error {
	t := &report.TextReport{}
	a := c.Answers
	t.Paragraph("", fmt.Sprintf("%d renders of %s, %s. %s", len(a.Tasks), a.Mix, a.Rules.Name, terms))
	for _, s := range c.Students {
		fmt.Fprintf(t, "\n%s\n", report.Shorten(s.Name, report.Columns))
		if s.Why != "" {
			t.Paragraph("   not marked: ", report.Printable(s.Why))
		} else {
			t.WriteString("render  score  off (unanswered), dB unweighted\n")
		}
		for i, m := range s.Marks {
			t.Paragraph(fmt.Sprintf("%6d  %5s  %.1f (%.1f)  ", i+1, words.Score(m.Score()), m.OffDB, m.HiddenDB), words.Mark(m))
		}
		if s.Earlier != nil {
			t.Paragraph("      so far: ", strings.Join(append(s.progress(), "now "+words.Score(s.Total.Score)), ", "))
		}
	}
	unansweredDB := 0.0 // the same for all
	t.WriteString("\nthe class            found  wrong way  not found  missed  invented  dB off  score\n")
	for _, s := range c.Students {
		if s.Why != "" {
			fmt.Fprintf(t, "%s not marked\n", report.Pad(report.Shorten(s.Name, 18), 18))
			continue
		}
		n := s.Total
		fmt.Fprintf(t, "%s %3d of %-3d  %6d  %9d  %6d  %8d  %6.2f  %3.0f %%\n", report.Pad(report.Shorten(s.Name, 18), 18), n.Found, n.Hidden, n.WrongWay, n.Confused, n.Missed, n.Invented, n.OffDB, 100*n.Score)
		unansweredDB = n.HiddenDB
	}
	if unansweredDB > 0 {
		t.Paragraph("", fmt.Sprintf("dB off, unweighted: the mean over the renders; without an answer %.2f.", unansweredDB))
	}
	writeConfusion(t, c.confusion())
	return t.WriteOut(w)
}

// writeConfusion writes the table of zones and directions: a row for each place hidden, a column
// for each place heard. Rows and columns without a count are omitted.
func writeConfusion(t *report.TextReport, c training.Confusion) {
	var rows, columns []training.Place
	for _, p := range training.Places() {
		for k := range c {
			if k.Hidden == p && !slices.Contains(rows, p) {
				rows = append(rows, p)
			}
			if k.Heard == p && !slices.Contains(columns, p) {
				columns = append(columns, p)
			}
		}
	}
	if len(rows) == 0 {
		return
	}
	legend := "\nhidden (down), heard (across); \"=\" is found"
	if slices.ContainsFunc(slices.Collect(maps.Keys(c)), func(k training.Taken) bool { return k.Hidden == k.Heard && !k.Found }) {
		legend += ", \"~\" there but not near enough"
	}
	t.WriteString(legend + "\n")
	const most = 6 // columns side by side
	for from := 0; from < len(columns); from += most {
		part := columns[from:min(from+most, len(columns))]
		line := report.Pad("", 12)
		for _, p := range part {
			line += fmt.Sprintf("%12s", p.Name())
		}
		fmt.Fprintln(t, strings.TrimRight(line, " "))
		for _, row := range rows {
			line, any := report.Pad(row.Name(), 12), false
			for _, p := range part {
				cell := confusionCell(c, row, p)
				any = any || cell != ""
				line += fmt.Sprintf("%12s", cell)
			}
			if any {
				fmt.Fprintln(t, strings.TrimRight(line, " "))
			}
		}
	}
	for _, text := range firstMixups(c) {
		t.Paragraph("", text)
	}
}

// confusionCell returns how often a hidden place was taken for another, or for itself: found, or not near enough.
func confusionCell(c training.Confusion, hidden, heard training.Place) string {
	found, not := c[training.Taken{Hidden: hidden, Heard: heard, Found: true}], c[training.Taken{Hidden: hidden, Heard: heard}]
	var parts []string
	if found > 0 {
		parts = append(parts, fmt.Sprintf("= %d", found))
	}
	switch {
	case not == 0:
	case hidden == heard:
		parts = append(parts, fmt.Sprintf("~ %d", not))
	default:
		parts = append(parts, fmt.Sprint(not))
	}
	return strings.Join(parts, ", ")
}

// firstMixups returns the three most frequent mistakes; the number is our choice.
func firstMixups(c training.Confusion) (first []string) {
	all := c.Mixups()
	for _, m := range all[:min(3, len(all))] {
		first = append(first, words.Mixup(m))
	}
	return first
}

// WriteCSV writes a row of grades for each student and lesson.
func WriteCSV(w io.Writer, c *Class) error {
	rows := [][]string{{"student", "lesson", "score_percent", "hidden", "found", "wrong_way", "not_found", "missed", "invented", "left_db", "no_answer_db", "remark"}}
	for _, s := range c.Students {
		if s.Why != "" {
			rows = append(rows, []string{s.Name, c.Answers.Rules.Name, "", "", "", "", "", "", "", "", "", "not marked: " + s.Why})
			continue
		}
		for _, l := range append(slices.Clone(s.Earlier), Lesson{Name: c.Answers.Rules.Name, Total: s.Total}) {
			n := l.Total
			rows = append(rows, []string{s.Name, l.Name, strconv.FormatFloat(100*n.Score, 'f', 0, 64), fmt.Sprint(n.Hidden), fmt.Sprint(n.Found), fmt.Sprint(n.WrongWay),
				fmt.Sprint(n.Confused), fmt.Sprint(n.Missed), fmt.Sprint(n.Invented), fmt.Sprintf("%.2f", n.OffDB), fmt.Sprintf("%.2f", n.HiddenDB), ""})
		}
	}
	return csv.NewWriter(w).WriteAll(rows)
}
