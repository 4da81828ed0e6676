package papers

import (
	"fmt"
	"strings"

	"toneplumb/match/report"
	"toneplumb/match/words"
)

// Headline returns one sentence about what was marked.
func Headline(c *Class) string {
	unmarked := 0
	for _, s := range c.Students {
		if s.Why != "" {
			unmarked++
		}
	}
	text := fmt.Sprintf("%s marked: %d renders of %s, %s", words.Count(len(c.Students)-unmarked, "sheet"), len(c.Answers.Tasks), c.Answers.Mix, c.Answers.Rules.Name)
	if unmarked > 0 {
		text += fmt.Sprintf("; %d could not be marked", unmarked)
	}
	return text + "."
}

// Blocks returns the marks of a class for a page, to stand under [Headline].
func Blocks(c *Class) []report.Block {
	table := report.Block{Head: []string{"student", "score", "found", "wrong way", "not found", "missed", "invented", "off unweighted, dB", "unanswered, dB"}}
	var each []report.Block
	for _, s := range c.Students {
		own := report.Block{Heading: s.Name}
		if s.Why != "" {
			table.Rows = append(table.Rows, []string{s.Name, "not marked"})
			own.Items = []report.Item{{Lead: "not marked:", Paragraphs: []string{report.Printable(s.Why)}}}
		} else {
			n := s.Total
			table.Rows = append(table.Rows, []string{s.Name, words.Score(n.Score), fmt.Sprintf("%d of %d", n.Found, n.Hidden),
				fmt.Sprint(n.WrongWay), fmt.Sprint(n.Confused), fmt.Sprint(n.Missed), fmt.Sprint(n.Invented), fmt.Sprintf("%.2f", n.OffDB), fmt.Sprintf("%.2f", n.HiddenDB)})
		}
		for i, m := range s.Marks {
			own.Items = append(own.Items, report.Item{Lead: fmt.Sprintf("%d.", i+1), Paragraphs: []string{words.Mark(m) + " (" + words.MarkDistance(m) + ")"}})
		}
		if s.Earlier != nil {
			own.Items = append(own.Items, report.Item{Lead: "So far:", Paragraphs: []string{strings.Join(s.progress(), ", ")}})
		}
		each = append(each, own)
	}
	return report.Filled(append([]report.Block{report.Paragraphs("", terms), table, report.Paragraphs("What was taken for what", firstMixups(c.confusion())...)}, each...)...)
}
