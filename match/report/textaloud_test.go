package report

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"toneplumb/match/words"
)

// A text to be read aloud has no columns and no drawn lines, and beside each figure of a move
// stands what it is.
func TestTextAloud(t *testing.T) {
	for name, r := range cases() {
		var got bytes.Buffer
		if err := TextAloud(&got, r); err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(got.String()) {
			if strings.Contains(strings.TrimLeft(line, " "), "  ") || strings.ContainsAny(line, "│─|·\x1b\r\t") {
				t.Errorf("%s: columns in %q", name, line)
			}
		}
		text := strings.Join(strings.Fields(got.String()), " ")
		for i, m := range r.Moves {
			want := fmt.Sprintf("Move %d: %s, %s, gain %s dB", i+1, m.Shape, words.FormatHz(m.Dial.FreqHz), words.FormatGain(m.GainDB))
			if !strings.Contains(text, want) || !strings.Contains(text, fmt.Sprintf("Q %.2f, width ", m.Q)) {
				t.Errorf("%s: no %q in\n%s", name, want, &got)
			}
		}
		if !strings.Contains(text, strings.Join(strings.Fields(Headline(r)), " ")) {
			t.Errorf("%s: no headline in\n%s", name, &got)
		}
	}
}
