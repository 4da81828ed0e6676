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
		noColumns(t, name, got.String())
		text := strings.Join(strings.Fields(got.String()), " ")
		for i, m := range r.Moves {
			want := fmt.Sprintf("Move %d: %s, %s, gain %s dB", i+1, words.Shape(m.Shape), words.FormatHz(m.Dial.FreqHz), words.FormatGain(m.GainDB))
			if !strings.Contains(text, want) || !strings.Contains(text, fmt.Sprintf("Q %.2f, width ", m.Q)) {
				t.Errorf("%s: no %q in\n%s", name, want, &got)
			}
		}
		if !strings.Contains(text, strings.Join(strings.Fields(Headline(r)), " ")) {
			t.Errorf("%s: no headline in\n%s", name, &got)
		}
	}
}

func noColumns(t *testing.T, name, text string) {
	t.Helper()
	for line := range strings.Lines(text) {
		if strings.Contains(strings.TrimLeft(line, " "), "  ") || strings.ContainsAny(line, "│─|·\x1b\r\t") {
			t.Errorf("%s: columns in %q", name, line)
		}
	}
}

// Each row of a table is a line of its own that names what it gives.
func TestBlocksAloud(t *testing.T) {
	var got bytes.Buffer
	err := BlocksAloud(&got, "All is well.",
		Block{Heading: "Shares", Head: []string{"track", "level, dB", "place"}, Rows: [][]string{
			{"drums", "−3", "left"}, {"bass", "–", "right"}, {"choir", "–", "–"}, {"track 4", "2", ""}, {"no track", "0", ""}}},
		Block{Heading: "empty"},
		Block{Items: []Item{{"1.", []string{"Do this.", "Then that."}}, {"", []string{"Rest."}}}})
	const want = `All is well.

Shares:
Track drums: level −3 dB, place left.
Track bass: level no figure, place right.
Track choir: no figures.
track 4: level 2 dB.
no track: level 0 dB.

1. Do this.
Then that.
Rest.
`
	if err != nil || got.String() != want {
		t.Errorf("%v, got\n%s\nwant\n%s", err, &got, want)
	}
}

// A check to be read aloud has its figures in sentences, with the mix before among the recordings.
func TestCheckAloud(t *testing.T) {
	for name, k := range checks() {
		var got bytes.Buffer
		if err := CheckAloud(&got, k); err != nil {
			t.Fatal(err)
		}
		noColumns(t, name, got.String())
		text := strings.Join(strings.Fields(got.String()), " ")
		wants := []string{CheckSentence(k), "mix: " + k.Mix.Name, "Zone lows: the mix is 2.8 dB over, likely range 1.7 to 3.9 over, tolerance ±", "Zone air: verdict left out."}
		if k.Since != nil {
			wants = append(wants, "before: mix of monday", words.Either(k.Since.Narrower, "Zone sub: it was 2.5 dB over, it is 0.5 dB over,", "Zone sub: it was 2.0 dB over, it is level,")+" moved by −2.0 dB, so it is nearer.")
		}
		if len(k.References) > 1 {
			wants = append(wants, "low-pass: mix none, reference 1 16.5 kHz, reference 2 none")
		}
		for _, want := range wants {
			if !strings.Contains(text, want) {
				t.Errorf("%s: no %q in\n%s", name, want, &got)
			}
		}
	}
}
