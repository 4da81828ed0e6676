// Package artefact lists every form in which an outcome leaves the program: its extension,
// its MIME type, whether it needs the sound of the recordings, and the function that writes
// it. The command line, watching, and the local page use these lists, so a new form is one
// line in [Match], [Check] or [Class].
//
// It builds on match/job and on the packages that write.
package artefact

import (
	"context"
	_ "embed"
	"io"
	"path/filepath"
	"strings"

	"toneplumb/match"
	"toneplumb/match/class"
	"toneplumb/match/job"
	"toneplumb/match/page"
	through "toneplumb/match/probe/forms"
	"toneplumb/match/report"
	"toneplumb/match/tracks/forms"
	"toneplumb/match/training/papers"
	"toneplumb/plots"
)

// Forms says what every form holds, field by field.
//
//go:embed README.md
var Forms string

// Style holds the options of all forms; each form uses those that apply to it.
type Style struct {
	Chart        report.ChartOptions
	Page         report.HandoutOptions // of pages to hand out
	Handout      bool                  // whether pictures are pages to hand out instead of charts
	DecimalComma bool                  // in .csv
	Terminal     bool                  // text is in columns, for a screen
}

// DefaultStyle returns the style of a chart of default size on white paper.
func DefaultStyle() Style {
	return Style{Chart: report.ChartOptions{WidthPx: plots.DefaultWidthPx, HeightPx: plots.DefaultHeightPx, DPI: plots.DefaultDPI}}
}

// Format is one form of an outcome of type T.
type Format[T any] struct {
	Extension string // the end of the file's name, in lower case
	Sound     bool   // whether the recordings are read again for it
	Write     func(ctx context.Context, w io.Writer, outcome T, style Style) error
}

// mimes are the types registered with IANA, by extension; .md is RFC 7763, and .wav is common practice.
var mimes = map[string]string{".png": "image/png", ".svg": "image/svg+xml", ".html": "text/html; charset=utf-8", ".pdf": "application/pdf",
	".json": "application/json", ".csv": "text/csv; charset=utf-8", ".txt": "text/plain; charset=utf-8", ".md": "text/markdown; charset=utf-8", ".wav": "audio/wav"}

// MIME returns the type of the form's files.
func (f Format[T]) MIME() string { return mimes[filepath.Ext(f.Extension)] }

// Simple returns a form that needs neither the context nor a style.
func Simple[T any](extension string, write func(io.Writer, T) error) Format[T] {
	return Format[T]{extension, false, func(_ context.Context, w io.Writer, outcome T, _ Style) error { return write(w, outcome) }}
}

// Formats are the forms of one kind of outcome.
type Formats[T any] []Format[T]

// For returns the first form whose extension the file's name has, and reports whether there is one.
func (all Formats[T]) For(path string) (f Format[T], known bool) {
	for _, f := range all {
		if EndsIn(path, f.Extension) {
			return f, true
		}
	}
	return f, false
}

// EndsIn reports whether a file's name ends in end, which must be in lower case; the name
// may be in any case. An end can be more than an extension, to distinguish forms: "song
// curve.csv" ends in "curve.csv".
func EndsIn(path, end string) bool {
	return strings.HasSuffix(strings.ToLower(filepath.Base(path)), end)
}

// Extensions returns the extensions of all forms, in order.
func (all Formats[T]) Extensions() []string {
	var ends []string
	for _, f := range all {
		ends = append(ends, f.Extension)
	}
	return ends
}

// texts returns the text: in columns on a terminal, otherwise in lines to be read aloud.
func texts[T any](columns, aloud func(io.Writer, T) error) Format[T] {
	return Format[T]{".txt", false, func(_ context.Context, w io.Writer, outcome T, s Style) error {
		if s.Terminal {
			return columns(w, outcome)
		}
		return aloud(w, outcome)
	}}
}

// picture is a figure or a poster.
type picture interface {
	WritePNG(w io.Writer) error
	WriteSVG(w io.Writer) error
}

// drawn is the form of an outcome as a picture.
func drawn[T any](extension string, draw func(T, Style) picture, write func(picture, io.Writer) error) Format[T] {
	return Format[T]{extension, false, func(_ context.Context, w io.Writer, outcome T, s Style) error {
		return write(draw(outcome, s), w)
	}}
}

func matchPicture(o *job.MatchOutcome, s Style) picture {
	if s.Handout {
		return report.HandoutPages(o.Result, s.Page)[0]
	}
	return report.Chart(o.Result, s.Chart)
}

func checkPicture(k *match.Check, s Style) picture { return report.CheckChart(k, s.Chart) }

func tracksPicture(o *job.TracksOutcome, _ Style) picture { return forms.Chart(o.Advice) }

func classPicture(o *job.ClassOutcome, s Style) picture { return class.Wall(o.Table, s.Page.Letter) }

// Match are the forms of a set of moves. If a name fits several, the first is used.
var Match = Formats[*job.MatchOutcome]{
	{".html", true, func(ctx context.Context, w io.Writer, o *job.MatchOutcome, _ Style) error {
		return page.Write(ctx, w, o.Result, o.Sound)
	}},
	Simple("curve.csv", func(w io.Writer, o *job.MatchOutcome) error { return report.CurveCSV(w, o.Result) }),
	Simple("moves.csv", func(w io.Writer, o *job.MatchOutcome) error { return report.MovesCSV(w, o.Result) }),
	Simple("settings.json", func(w io.Writer, o *job.MatchOutcome) error { return report.Settings(w, o.Result) }),
	Simple(".json", func(w io.Writer, o *job.MatchOutcome) error { return report.JSON(w, o.Result) }),
	{".pdf", false, func(_ context.Context, w io.Writer, o *job.MatchOutcome, s Style) error {
		s.Page.DPI = 0 // paper has none
		return plots.WritePDF(w, report.HandoutPages(o.Result, s.Page)...)
	}},
	drawn(".png", matchPicture, picture.WritePNG), drawn(".svg", matchPicture, picture.WriteSVG),
	Simple(".md", func(w io.Writer, o *job.MatchOutcome) error { return report.Markdown(w, o.Result) }),
	{".txt", false, func(_ context.Context, w io.Writer, o *job.MatchOutcome, s Style) error {
		switch {
		case s.Terminal && s.Page.Blank: // it may be in view of those who get the worksheet
			return report.TextBlank(w, o.Result)
		case s.Terminal:
			return report.Text(w, o.Result)
		}
		return report.TextAloud(w, o.Result)
	}},
}

// Check are the forms of a verdict on a finished mix.
var Check = Formats[*match.Check]{
	drawn(".png", checkPicture, picture.WritePNG), drawn(".svg", checkPicture, picture.WriteSVG),
	{".pdf", false, func(_ context.Context, w io.Writer, k *match.Check, s Style) error {
		return plots.WritePDF(w, report.CheckChart(k, s.Chart))
	}},
	Simple(".json", report.CheckJSON),
	texts(report.Check, report.CheckAloud),
}

// Class are the forms of a table of many mixes compared with the same references.
var Class = Formats[*job.ClassOutcome]{
	{".csv", false, func(_ context.Context, w io.Writer, o *job.ClassOutcome, s Style) error {
		return class.CSV(w, o.Table, s.DecimalComma)
	}},
	Simple(".json", func(w io.Writer, o *job.ClassOutcome) error { return class.JSON(w, o.Table) }),
	texts(func(w io.Writer, o *job.ClassOutcome) error { return class.Text(w, o.Table) },
		func(w io.Writer, o *job.ClassOutcome) error { return class.TextAloud(w, o.Table) }),
	Simple(".html", func(w io.Writer, o *job.ClassOutcome) error { return class.Overview(w, o.Table) }),
	drawn(".png", classPicture, picture.WritePNG), drawn(".svg", classPicture, picture.WriteSVG),
	Simple(".pdf", func(w io.Writer, o *job.ClassOutcome) error {
		var sheets []*plots.Figure
		for _, p := range o.Pages {
			sheets = append(sheets, p.Sheets...)
		}
		return plots.WritePDF(w, sheets...)
	}),
}

// Tracks are the forms of what was found of the tracks.
var Tracks = Formats[*job.TracksOutcome]{
	drawn(".png", tracksPicture, picture.WritePNG), drawn(".svg", tracksPicture, picture.WriteSVG),
	{".pdf", false, func(_ context.Context, w io.Writer, o *job.TracksOutcome, s Style) error {
		return plots.WritePDF(w, forms.Paper(o.Advice, s.Page.Letter))
	}},
	{".html", true, func(ctx context.Context, w io.Writer, o *job.TracksOutcome, _ Style) error {
		sound, err := o.Cut(ctx, false)
		if err != nil {
			return err
		}
		return page.Write(ctx, w, o.Advice.Result, sound, forms.Part(o.Advice))
	}},
	Simple(".json", func(w io.Writer, o *job.TracksOutcome) error { return forms.JSON(w, o.Advice) }),
	Simple(".csv", func(w io.Writer, o *job.TracksOutcome) error { return forms.CSV(w, o.Advice) }),
	texts(func(w io.Writer, o *job.TracksOutcome) error { return forms.Text(w, o.Advice) },
		func(w io.Writer, o *job.TracksOutcome) error { return forms.TextAloud(w, o.Advice) }),
}

// Nearest are the forms of a ranking of references.
var Nearest = Formats[*job.NearestOutcome]{
	Simple(".json", func(w io.Writer, o *job.NearestOutcome) error {
		return report.NearestJSON(w, o.Mix, o.Ranked, o.Warnings)
	}),
	texts(func(w io.Writer, o *job.NearestOutcome) error { return report.Nearest(w, o.Mix, o.Ranked, o.Warnings) },
		func(w io.Writer, o *job.NearestOutcome) error {
			return report.NearestAloud(w, o.Mix, o.Ranked, o.Warnings)
		}),
}

// Marks are the forms of a lesson that was marked.
var Marks = Formats[*papers.Class]{
	texts(papers.WriteText, papers.WriteTextAloud),
	Simple(".csv", papers.WriteCSV),
	Simple(".json", papers.WriteJSON),
	{".pdf", false, func(_ context.Context, w io.Writer, c *papers.Class, s Style) error {
		return papers.WritePages(w, c, s.Page.Letter)
	}},
}

// Through are the forms of what two bounces say about an equaliser.
var Through = Formats[through.Through]{
	drawn(".png", throughPicture, picture.WritePNG), drawn(".svg", throughPicture, picture.WriteSVG),
	Simple(".json", through.ThroughJSON),
	texts(through.ThroughText, through.ThroughText),
}

func throughPicture(t through.Through, _ Style) picture { return through.ThroughFigure(t) }
