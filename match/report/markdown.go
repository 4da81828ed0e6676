package report

import (
	"fmt"
	"io"
	"regexp"
	"strings"

	"toneplumb/match"
	"toneplumb/match/words"
	"toneplumb/spectrum/measure"
)

// Markdown writes the moves as a table in Markdown, for notes of a lesson or of a session:
// what was compared, the headline, a row for each move with its reason, and what to watch out
// for. Tables follow GitHub Flavored Markdown, section 4.10. The error is w's.
func Markdown(w io.Writer, r *match.Result) error {
	var b strings.Builder
	if r.Mix != nil {
		var references []string
		for _, ref := range r.References {
			references = append(references, recordingNote(ref))
		}
		fmt.Fprintf(&b, "%s beside %s\n\n", recordingNote(r.Mix), words.List(references))
	}
	fmt.Fprintf(&b, "**%s**\n", literally(Headline(r)))
	if len(r.Moves) > 0 {
		b.WriteString("\n| move | filter | frequency | gain | Q | width | why |\n|---:|---|---:|---:|---:|---|---|\n")
		for i, m := range r.Moves {
			fmt.Fprintf(&b, "| %d | %s | %s | %s dB | %.2f | %s | %s |\n", i+1, words.Shape(m.Shape), words.FormatHz(m.Dial.FreqHz),
				words.FormatGain(m.Dial.GainDB), m.Q, literally(Width(m)), literally(words.Why(m)))
		}
		fmt.Fprintf(&b, "| | trim | | %s dB | | | %s |\n", words.FormatGain(r.TrimDB), trimReason(r))
	}
	for _, text := range append(equaliserLine(r), averages(r), hint(r)) {
		if text != "" {
			fmt.Fprintf(&b, "\n%s\n", literally(text))
		}
	}
	if len(r.Warnings) > 0 {
		b.WriteString("\nWatch out:\n\n")
		for _, text := range Remarks(r.Warnings) {
			fmt.Fprintf(&b, "- %s\n", literally(text))
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// recordingNote returns a recording's name, with its length, format and loudness.
func recordingNote(r *measure.Recording) string {
	return literally(r.Name + " (" + Figures(r, ", ") + ")")
}

// marks matches the characters that Markdown would interpret.
var marks = regexp.MustCompile("[\\\\`*_\\[\\]<>#|~&]")

// literally escapes a text so that Markdown shows it unchanged.
func literally(text string) string { return marks.ReplaceAllString(Printable(text), `\$0`) }
