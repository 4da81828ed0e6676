// Package page writes a comparison as one HTML file that opens from disk: the findings, the moves,
// and a player for mix, moves and reference at one loudness. It also makes the page of an exercise
// and the page of the local server.
//
// Most callers use [Write] with the [Sound] that [Cut] took from the recordings, or with none.
//
// The file makes no network requests, and its Content-Security-Policy forbids them: style and script
// are inside and allowed by their hashes. All words come from [Data] through one template
// (page.html), which escapes them. The script builds only the player, from the same Data as JSON.
//
// It shows results of match, match/listen and match/training; match/internal/serve and the command
// line use it.
//
// # The player as a part
//
// The player knows nothing about mixes and references. It plays a list of sources, each with a name,
// a key and a sound, at one loudness and from one position, and switches a list of moves in the
// sources that run through them. Another page uses it in four steps:
//
//   - [NewPlayer] measures a list of [Heard] and returns the numbers, a [Player]; storeSounds stores
//     the sounds as FLAC, shortened to fit.
//   - Its template begins with {{template "head" .}}, a <title> and {{template "style" .}}, has
//     {{template "player" .}} and {{template "care"}} in their places, and ends with
//     {{template "foot" .}} (player.html). Its data has the fields Policy (from policy), Style,
//     Script (playScripts and its own), Sounds and Player.
//   - In a saved page, an element <script type="application/json" id="data"> holds a document whose
//     "player" is the Player; the script then starts by itself. A page without it calls
//     startPlayer(player, bytesOf), where bytesOf(id) returns a sound's file as an ArrayBuffer, or a
//     promise of one.
//   - A live page passes new numbers to the returned object: update(player) continues at the same
//     position without a gap if the sounds keep their ids, and stops if not. So an id must change
//     when its sound does.
//
// The scripts, in this order: number.js (numbers as people type them), sound.js (the graph of audio
// nodes), strip.js (level over time, and the loop), transport.js (play, stop, seek, choose),
// player.js (the controls). Only strip.js, player.js and
// bytesIn of sound.js use the HTML document.
//
// The same input gives the same bytes.
package page

import (
	"bufio"
	"context"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"path"
	"strings"

	"toneplumb/match"
	"toneplumb/match/probe"
	"toneplumb/match/report"
	"toneplumb/match/training"
	"toneplumb/match/words"
)

//go:embed *.html *.css *.js desk player
var files embed.FS

// joined returns files of a folder, one after the other.
func joined(folder string, names ...string) string {
	var all strings.Builder
	for _, name := range names {
		text, err := files.ReadFile(path.Join(folder, name))
		if err != nil {
			panic("page: " + err.Error()) // cannot be: the files are embedded above
		}
		all.Write(text)
	}
	return all.String()
}

var pageCSS = joined(".", "page.css")

// playScripts are the scripts of the player, in this order.
var playScripts = joined("player", "number.js", "sound.js", "volume.js", "strip.js", "transport.js", "player.js")

// sentences are the functions of the templates, for text shared with the other outputs.
var sentences = template.FuncMap{
	"safeListening": func() string { return words.SafeListening },
	"probeCaution":  func() string { return probe.ProbeCaution },
	"prints":        prints,
	"mostLessons":   func() int { return training.MaxCourse },
	"numbers":       func() []match.Number { return match.Numbers },
}

var pageTemplate = template.Must(template.New("page.html").Funcs(sentences).ParseFS(files, "page.html", "player/player.html", "desk/app.html"))

// pageFields is the data of the template.
type pageFields struct {
	*Data
	Policy      string // for the meta element
	Style       template.CSS
	Script      template.JS
	Light, Dark template.HTML // the chart
	Sounds      []embedded
	Parts       []*Part
}

// Write writes the page, with parts after the moves. Without sound (s is nil or has no Mix) it has no
// player and says why in the words of s.Notes. The error is w's or ctx's, or says why a chart
// cannot be drawn.
func Write(ctx context.Context, w io.Writer, r *match.Result, s *Sound, parts ...*Part) error {
	instead := ""
	for _, p := range parts {
		if p.InsteadOfMoves != "" {
			instead = p.InsteadOfMoves
			without := *r
			without.Moves = nil
			r = &without
		}
	}
	d := pageFields{Data: NewData(r), Parts: parts, Style: template.CSS(pageCSS), Script: template.JS(playScripts)}
	if instead != "" {
		d.WhyNoMoves = instead
	}
	d.Policy = policy(string(d.Style), string(d.Script))
	var err error
	d.Light, d.Dark, err = onBothPapers(d.Title, d.chartInWords(), func(dark bool) ([]string, error) { return chart(r, dark) })
	if err != nil {
		return err
	}
	room := MaxBytes - len(d.Light) - len(d.Dark) - restBytes
	for _, p := range parts {
		if err := p.draw(); err != nil {
			return err
		}
		room -= len(p.Light) + len(p.Dark)
		if p.Title != "" {
			d.Title = p.Title
		}
	}
	if err := s.addTo(ctx, &d, r, room); err != nil {
		return err
	}
	if d.Player == nil {
		d.Script = ""
	}
	out := bufio.NewWriterSize(w, 1<<16) // a template makes many small writes
	if err := pageTemplate.Execute(out, d); err != nil {
		return err
	}
	return out.Flush()
}

const (
	// MaxBytes is the largest size of a page: it still passes as an attachment of an e-mail.
	MaxBytes = 15_000_000
	// restBytes is reserved for everything except chart and sound. Our choice: eight moves with all
	// their combinations and rates take 120 kB.
	restBytes = 400_000
)

// policy returns the Content-Security-Policy: only this style and this script, and sound only from
// the file itself. Source: W3C, Content Security Policy Level 3, 6.7 and 8.4 (hashes).
func policy(style, script string) string {
	hash := func(text string) string {
		sum := sha256.Sum256([]byte(text))
		return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
	}
	return "default-src 'none'; style-src " + hash(style) + "; script-src " + hash(script) +
		"; img-src data:; media-src data: blob:; base-uri 'none'; form-action 'none'"
}

// chart draws the panels as an SVG for the page.
func chart(r *match.Result, dark bool) ([]string, error) {
	var out strings.Builder
	look := report.ChartOptions{WidthPx: chartWidthPx, HeightPx: chartHeightPx, DPI: chartDPI, Dark: dark, Bare: true, Steady: true} // letters as large as those of a part
	err := report.Chart(r, look).WriteSVG(&out)
	return []string{out.String()}, err
}

// onBothPapers draws charts on light and dark paper, each with a title and a description in words.
func onBothPapers(title, words string, draw func(dark bool) (svgs []string, err error)) (light, dark template.HTML, err error) {
	var both [2]template.HTML
	for i := range both {
		svgs, err := draw(i == 1)
		if err != nil {
			return "", "", err
		}
		for _, svg := range svgs {
			if svg, err = inWords(svg, title, words); err != nil {
				return "", "", err
			}
			both[i] += template.HTML(svg)
		}
	}
	return both[0], both[1], nil
}

// inWords gives an SVG a title and a description, and removes its first line.
func inWords(svg, title, words string) (string, error) {
	if at := strings.Index(svg, "<svg"); at > 0 {
		svg = svg[at:] // the XML declaration belongs to files only
	}
	// The writer's own title and description name the panels; ours name the whole picture.
	head, rest, _ := strings.Cut(svg, "<title>")
	_, rest, found := strings.Cut(rest, "</desc>")
	if !found {
		return "", fmt.Errorf("the chart has no description")
	}
	escape := template.HTMLEscapeString
	return head + "<title>" + escape(title) + "</title><desc>" + escape(words) + "</desc>" + rest, nil
}

// Size of the chart. Our choice: that of the chart in a file, without what is under it there.
const (
	chartWidthPx  = 1350
	chartHeightPx = 800
	chartDPI      = 150
)
