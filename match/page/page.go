// Package page writes a comparison as one HTML file that opens from disk: what was
// found, the moves, and a player that lets mix, moves and reference be heard at one
// loudness.
//
// The path most callers need: Write, with the Sound that was cut from the recordings, or
// none.
//
// The file asks the network for nothing, and its Content-Security-Policy forbids it to:
// style and script are in it and let through by their hashes. All words come from Data
// through one template (page.html), which escapes them; the script (sound.js, strip.js,
// player.js, in this order) builds the player alone, from the same Data as JSON.
//
// Same input, same bytes.
package page

import (
	"bytes"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"strings"

	"toneplumb/match"
	"toneplumb/match/report"
)

//go:embed page.html
var pageHTML string

//go:embed page.css
var pageCSS string

//go:embed sound.js
var soundJS string

//go:embed strip.js
var stripJS string

//go:embed player.js
var playerJS string

var pageTemplate = template.Must(template.Must(template.New("page").Parse(pageHTML)).Parse(deskHTML))

// document is what the template is filled with.
type document struct {
	*Data
	Served      bool   // by the local server, which fills it
	Policy      string // for the meta element
	Style       template.CSS
	Script      template.JS
	Light, Dark template.HTML // the chart
	Sounds      []embedded
}

// embedded is sound as text in the page.
type embedded struct {
	ID     string
	Base64 template.HTML // letters, digits, +, / and = only
}

// Write writes the page. Without sound (nil) it has no player and says why in the words
// of s.Without. The error is w's, or says why the chart cannot be drawn.
func Write(w io.Writer, r *match.Result, s *Sound) error {
	d := document{Data: NewData(r), Style: template.CSS(pageCSS), Script: template.JS(soundJS + stripJS + playerJS)}
	d.Policy = policy(string(d.Style), string(d.Script))
	for _, paper := range []struct {
		dark bool
		to   *template.HTML
	}{{false, &d.Light}, {true, &d.Dark}} {
		svg, err := chart(r, d.Data, paper.dark)
		if err != nil {
			return err
		}
		*paper.to = template.HTML(svg)
	}
	room := MaxBytes - len(d.Light) - len(d.Dark) - restBytes
	if err := s.addTo(&d, r, room); err != nil {
		return err
	}
	// Gathered first: the template's own writes are many and small.
	var out bytes.Buffer
	if err := pageTemplate.Execute(&out, d); err != nil {
		return err
	}
	_, err := w.Write(out.Bytes())
	return err
}

const (
	// MaxBytes is the most a page may hold: it still passes as an attachment of a mail.
	MaxBytes = 15_000_000
	// restBytes is kept for all but chart and sound. Our choice: eight moves with all
	// their choices and rates take 120 kB.
	restBytes = 400_000
)

// policy is the Content-Security-Policy: nothing from anywhere but this style and this
// script, and sound only from the file itself. Source: W3C, Content Security Policy
// Level 3, 6.7 and 8.4 (hashes).
func policy(style, script string) string {
	hash := func(text string) string {
		sum := sha256.Sum256([]byte(text))
		return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
	}
	return "default-src 'none'; style-src " + hash(style) + "; script-src " + hash(script) +
		"; img-src data:; media-src data: blob:; base-uri 'none'; form-action 'none'"
}

// chart draws the panels as an SVG to stand in the page, with a title and a description
// in words.
func chart(r *match.Result, d *Data, dark bool) (string, error) {
	var out strings.Builder
	look := report.Look{WidthPx: chartWidthPx, HeightPx: chartHeightPx, DPI: chartDPI, Dark: dark, Bare: true}
	if err := report.ChartSVG(&out, r, look); err != nil {
		return "", err
	}
	// The writer's own title names the first panel; ours names the picture.
	head, rest, _ := strings.Cut(out.String(), "<title>")
	_, rest, found := strings.Cut(rest, "</title>")
	if !found {
		return "", fmt.Errorf("the chart has no title")
	}
	escape := template.HTMLEscapeString
	return head + "<title>" + escape(d.Title) + "</title><desc>" + escape(d.chartInWords()) + "</desc>" + rest, nil
}

// Size of the chart. Our choice: as the chart of a file, less what stands under it there.
const (
	chartWidthPx  = 1350
	chartHeightPx = 800
	chartDPI      = 150
)
