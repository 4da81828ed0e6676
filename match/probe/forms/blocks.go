package forms

import (
	"fmt"

	"toneplumb/match/probe"
	"toneplumb/match/report"
	"toneplumb/match/words"
)

// Blocks returns what was learnt about an equaliser, for a page.
func Blocks(e *probe.Equaliser) []report.Block {
	prints := report.Block{Head: []string{"print", "dialled", "is", "off by"}, Rows: printRows(e)}
	stand := report.Block{Heading: "What the dials stand for"}
	for _, shape := range learntShapes {
		if _, learnt := e.Terms[shape]; learnt {
			stand.Items = append(stand.Items, report.Item{Lead: shape.String() + ":", Paragraphs: []string{e.TermsWords(shape)}})
		}
	}
	stand.Items = append(stand.Items, report.Item{Lead: "top:", Paragraphs: []string{e.TopWords()}})
	instead := report.Block{Heading: "What to dial instead", Head: []string{"move advised", "dial instead", "off as it is, dB", "then, dB"}}
	for _, c := range e.Corrections() {
		shown := c.Dial
		shown.FreqHz = c.FreqHz
		instead.Rows = append(instead.Rows, []string{words.Shape(c.Advised.Shape) + " " + probe.FilterWords(c.Advised), probe.FilterWords(shown),
			fmt.Sprintf("%.2f", c.OffDB), fmt.Sprintf("%.2f", c.LeftDB)})
	}
	return report.Filled(prints, stand, report.Paragraphs(report.WatchOut, words.Findings(e.Findings())...), instead)
}
