package report

import (
	"fmt"
	"io"
	"regexp"
	"strings"

	"toneplumb/match"
	"toneplumb/match/words"
)

// Markdown writes the moves as a table in Markdown, for notes of a lesson or of a session:
// what was compared, the headline, a row for each move with its reason, and what to watch out
// for. Tables follow GitHub Flavored Markdown, section 4.10. The error is w's.
func Markdown(w io.Writer, r *match.Result) error {
	var b strings.Builder
	if r.Mix != nil {
		var references []string
		for _, ref := range r.References {
			references = append(references, literally(ref.Name))
		}
		fmt.Fprintf(&b, "%s beside %s\n\n", literally(r.Mix.Name), words.List(references))
	}
	fmt.Fprintf(&b, "**%s**\n", literally(Headline(r)))
	if len(r.Moves) > 0 {
		b.WriteString("\n| move | filter | frequency | gain | width | why |\n|---:|---|---:|---:|---|---|\n")
		for i, m := range r.Moves {
			fmt.Fprintf(&b, "| %d | %s | %s | %s dB | %s | %s |\n", i+1, words.Shape(m.Shape), words.FormatHz(m.Dial.FreqHz),
				words.FormatGain(m.Dial.GainDB), literally(Width(m)), literally(words.Why(m)))
		}
		fmt.Fprintf(&b, "| | trim | | %s dB | | %s |\n", words.FormatGain(r.TrimDB), trimReason(r))
	}
	if len(r.Warnings) > 0 {
		b.WriteString("\nWatch out:\n\n")
		for _, text := range words.Findings(r.Warnings) {
			fmt.Fprintf(&b, "- %s\n", literally(text))
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// marks matches the characters that Markdown would interpret.
var marks = regexp.MustCompile("[\\\\`*_\\[\\]<>#|~&]")

// literally escapes a text so that Markdown shows it unchanged.
func literally(text string) string { return marks.ReplaceAllString(Printable(text), `\$0`) }
