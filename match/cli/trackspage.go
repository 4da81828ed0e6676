package cli

import (
	"bytes"
	_ "embed"
	"html/template"
	"io"

	"toneplumb/match/report"
	"toneplumb/match/tracks"
)

//go:embed tracks.html
var tracksPageText string

var tracksPageTemplate = template.Must(template.New("tracks").Parse(tracksPageText))

// tracksPart is what a page shows of single tracks: the chart and the words.
type tracksPart struct {
	Mix   string
	Chart template.HTML // SVG; its words are outlines, so there is nothing in it to escape
	Text  string        // as tracksText has it
}

// newTracksPart draws and words it.
func newTracksPart(a *tracks.Advice) (*tracksPart, error) {
	var chart, text bytes.Buffer
	if err := tracksChart(a).WriteSVG(&chart); err != nil {
		return nil, err
	}
	if err := tracksText(&text, a); err != nil {
		return nil, err
	}
	svg := chart.Bytes()
	if i := bytes.Index(svg, []byte("<svg")); i > 0 { // a page has its own first line
		svg = svg[i:]
	}
	return &tracksPart{Mix: report.Name(a.Result.Mix.Path), Chart: template.HTML(svg), Text: text.String()}, nil
}

// tracksPage writes one HTML page that needs nothing beside it.
func tracksPage(w io.Writer, a *tracks.Advice) error {
	part, err := newTracksPart(a)
	if err != nil {
		return err
	}
	return tracksPageTemplate.Execute(w, part)
}
