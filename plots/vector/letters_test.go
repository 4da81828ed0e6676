package vector

import (
	"strings"
	"testing"
	"unicode/utf8"
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
		l := NewLetters(false)
		got := l.Printable(c.in)
		if got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
		if again := l.Printable(got); again != got {
			t.Errorf("%s: printable twice gives %q, once %q", c.name, again, got)
		}
		for _, r := range got {
			if g := l.glyph(r); r != ' ' && r != NoBreak && (g.index == 0 || len(g.outline) == 0 || g.advance <= 0) {
				t.Errorf("%s: %q leaves no ink", c.name, r)
			}
			if box := l.glyph(missingGlyph).index; r > 0x3000 && l.glyph(r).index != box || r < 0x7f && r >= ' ' && l.glyph(r).index == box {
				t.Errorf("%s: %q is drawn as %d, a box is %d", c.name, r, l.glyph(r).index, box)
			}
		}
	}
}

func TestFit(t *testing.T) {
	l := NewLetters(false)
	words := "low mids 2.8 dB over the reference, most of it where vibraphone and clarinet sit on top of one another"
	blankless := strings.Repeat("Rough_mix_", 40) + "final.wav"
	for _, c := range []struct {
		name, txt string
		width     float64
		maxLines  int
		where     Cut
		lines     int
		end       string // of the last line
		whole     bool
	}{
		{"short", "bell", 20, 2, CutEnd, 1, "bell", true},
		{"empty", "", 20, 2, CutEnd, 0, "", true},
		{"two lines", words, 30, 2, CutEnd, 2, "another", true},
		{"cut", words, 30, 1, CutEnd, 1, "…", false},
		{"one long word", blankless, 30, 3, CutEnd, 3, "…", false},
		{"after a dash", "evening-class-rough-mix", 8, 2, CutEnd, 2, "rough-mix", false},
		{"middle", blankless, 30, 2, CutMiddle, 2, "final.wav", false},
		{"narrower than a letter", words, 0.1, 2, CutEnd, 2, "…", false},
		{"no break", "it takes 2.0\u00a0dB out", 5.5, 2, CutEnd, 2, "2.0\u00a0dB out", true},
		{"negative", words, -5, 1, CutEnd, 1, "…", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := l.Fit(c.txt, c.width, c.maxLines, c.where)
			if len(got) != c.lines {
				t.Fatalf("%d lines %q, want %d", len(got), got, c.lines)
			}
			for _, line := range got {
				if w := l.Width(line); w > c.width && utf8.RuneCountInString(line) > 1 {
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

// TestFitUsesTheRoom: with one more letter the text no longer fits.
func TestFitUsesTheRoom(t *testing.T) {
	l := NewLetters(false)
	txt := strings.Repeat("abcdefghij", 30)
	got := strings.TrimSuffix(l.Fit(txt, 25, 1, CutEnd)[0], Ellipsis)
	if !strings.HasPrefix(txt, got) {
		t.Fatalf("%q is not the beginning of the text", got)
	}
	if longer := txt[:len(got)+1] + Ellipsis; l.Width(longer) <= 25 {
		t.Errorf("%q would still fit", longer)
	}
}
