package plots

import (
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"gonum.org/v1/plot/vg"
)

func TestPrintable(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"plain", "Night Ferry.wav", "Night Ferry.wav"},
		{"accents apart, as some file systems store them", "cafe\u0301", "café"},
		{"letters of Europe", "Łódź Ærø Ночь Νύχτα −3 dB “x” …", "Łódź Ærø Ночь Νύχτα −3 dB “x” …"},
		{"Japanese", "夜のフェリー", "夜のフェリー"},
		{"emoji joined of two with a selector", "👩‍🎤\ufe0f!", "👩🎤!"},
		{"white space", "  a\tb\nc\u00a0d \u00a0", "a b c\u00a0d"},
		{"control and broken bytes", "a\x01b\xff", "a\x01b\ufffd"},
		{"turning marks", "a\u202eb\u200fc", "abc"},
	} {
		l := newLetters(false)
		got := l.printable(c.in)
		if got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
		if again := l.printable(got); again != got {
			t.Errorf("%s: printable twice gives %q, once %q", c.name, again, got)
		}
		for _, r := range got {
			if g := l.glyph(r); r != ' ' && r != noBreak && (g.index == 0 || len(g.outline) == 0 || g.advance <= 0) {
				t.Errorf("%s: %q leaves no ink", c.name, r)
			}
			if box := l.glyph(missingGlyph).index; r > 0x3000 && l.glyph(r).index != box || r < 0x7f && r >= ' ' && l.glyph(r).index == box {
				t.Errorf("%s: %q is drawn as %d, a box is %d", c.name, r, l.glyph(r).index, box)
			}
		}
	}
}

func TestFit(t *testing.T) {
	l := newLetters(false)
	words := "low mids 2.8 dB over the reference, most of it where vibraphone and clarinet sit on top of one another"
	blankless := strings.Repeat("Rough_mix_", 40) + "final.wav"
	for _, c := range []struct {
		name, txt string
		width     float64
		maxLines  int
		where     cut
		lines     int
		end       string // of the last line
		whole     bool
	}{
		{"short", "bell", 20, 2, cutEnd, 1, "bell", true},
		{"empty", "", 20, 2, cutEnd, 0, "", true},
		{"two lines", words, 30, 2, cutEnd, 2, "another", true},
		{"cut", words, 30, 1, cutEnd, 1, "…", false},
		{"one long word", blankless, 30, 3, cutEnd, 3, "…", false},
		{"middle", blankless, 30, 2, cutMiddle, 2, "final.wav", false},
		{"narrower than a letter", words, 0.1, 2, cutEnd, 2, "…", false},
		{"no break", "it takes 2.0\u00a0dB out", 5.5, 2, cutEnd, 2, "2.0\u00a0dB out", true},
		{"negative", words, -5, 1, cutEnd, 1, "…", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := l.fit(c.txt, c.width, c.maxLines, c.where)
			if len(got) != c.lines {
				t.Fatalf("%d lines %q, want %d", len(got), got, c.lines)
			}
			for _, line := range got {
				if w := l.width(line); w > c.width && utf8.RuneCountInString(line) > 1 {
					t.Errorf("%q is %.2f em wide, want at most %.2f", line, w, c.width)
				}
			}
			if n := len(got); n > 0 && !strings.HasSuffix(got[n-1], c.end) {
				t.Errorf("last line is %q, want it to end with %q", got[n-1], c.end)
			}
			if joined := strings.Join(got, " "); c.whole != (joined == c.txt) {
				t.Errorf("lines %q, whole: want %v", got, c.whole)
			}
		})
	}
}

// TestFitUsesTheRoom: with one more letter the text would no longer fit.
func TestFitUsesTheRoom(t *testing.T) {
	l := newLetters(false)
	txt := strings.Repeat("abcdefghij", 30)
	got := strings.TrimSuffix(l.fit(txt, 25, 1, cutEnd)[0], ellipsis)
	if !strings.HasPrefix(txt, got) {
		t.Fatalf("%q is not the beginning of the text", got)
	}
	if longer := txt[:len(got)+1] + ellipsis; l.width(longer) <= 25 {
		t.Errorf("%q would still fit", longer)
	}
}

// TestCapitals holds the promise that labels have capitals of 13 pixels at the
// default size: the flat top of the letter H.
func TestCapitals(t *testing.T) {
	l := newLetters(false)
	top := 0.0
	for _, comp := range l.path("H", textSize, vg.Point{}) {
		top = math.Max(top, float64(comp.Pos.Y))
	}
	if least := 12.3; top < least { // 13 when drawn on whole pixels
		t.Errorf("capitals are %.2f pixels high, want at least %.1f", top, least)
	}
}
