package report

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

func TestNamesCannotSteerATerminal(t *testing.T) {
	for path, want := range map[string]string{
		"/a/b/song.wav":        "song.wav",
		"a\x1b[2J\r\n.wav":     "a�[2J��.wav",
		"a\u202egnp.wav":       "a�gnp.wav", // would be read from right to left
		"a\u2066b\u2069.wav":   "a�b�.wav",
		"a\u0085b\u2028c.wav":  "a�b�c.wav",
		"dernière \xff.wav":    "dernière �.wav",
		"e\u0301tude – 夜.flac": "e\u0301tude – 夜.flac",
	} {
		if got := Name(path); got != want {
			t.Errorf("%q: %q, want %q", path, got, want)
		}
	}
}

// A path in a command to copy is one word to a shell.
func TestArgument(t *testing.T) {
	for path, want := range map[string]string{
		"lessons/1.answers.json": "lessons/1.answers.json",
		"übung-夜.wav":            "übung-夜.wav",
		"lesson 1.answers.json":  `"lesson 1.answers.json"`,
		"mum's.wav":              `"mum's.wav"`,
		"a;b(c)&d*.wav":          `"a;b(c)&d*.wav"`,
		"$5 `x` mum's!.wav":      "'$5 `x` mum'\\''s!.wav'",
		"a\x1bb.wav":             `"a�b.wav"`,
		"":                       `""`,
	} {
		if got := Argument(path); got != want {
			t.Errorf("%q: %s, want %s", path, got, want)
		}
	}
}

func TestCells(t *testing.T) {
	for text, want := range map[string]int{"": 0, "Café": 4, "Cafe\u0301": 4, "夜の部": 6, "ｶﾅ": 2, "ＡＢ": 4, "한국": 4, "🎸": 2, "a\u200bb": 2} {
		if got := Cells(text); got != want {
			t.Errorf("%q: %d cells, want %d", text, got, want)
		}
	}
}

func TestShorten(t *testing.T) {
	for _, c := range []struct {
		text string
		n    int
		want string
	}{
		{"short", 5, "short"},
		{"shorter", 5, "sh…er"},
		{"夜の部と昼の部.wav", 18, "夜の部と昼の部.wav"},
		{"夜の部と昼の部.wav", 11, "夜の…部.wav"},
		{"aaae\u0301bbb", 6, "aa…bbb"},
		{"aaaae\u0301bb", 6, "aa…e\u0301bb"},
		{"aaaaaaae\u0301", 4, "a…ae\u0301"},
	} {
		got := Shorten(c.text, c.n)
		if got != c.want || Cells(got) > c.n {
			t.Errorf("%q in %d: %q of %d cells, want %q", c.text, c.n, got, Cells(got), c.want)
		}
	}
	long := strings.Repeat("夜", 30) + strings.Repeat("e\u0301", 30)
	for n := 1; n < 90; n++ {
		if got := Shorten(long, n); Cells(got) > n || Cells(got) < n-1 && n < 88 {
			t.Errorf("%d cells: %q has %d", n, got, Cells(got))
		}
		if got := Pad(Shorten(long, n), n); Cells(got) != n {
			t.Errorf("padded to %d: %d", n, Cells(got))
		}
	}
}

// No line breaks between a number and its unit, nor at a blank that asks for it.
func TestParagraphKeepsUnits(t *testing.T) {
	for _, text := range []string{strings.Repeat("a", 70) + " at 5.0 dB", strings.Repeat("a", 70) + " so\u00a0to\u00a0say"} {
		var p TextReport
		p.Paragraph("- ", text)
		first, second, _ := strings.Cut(p.String(), "\n")
		if end := strings.TrimSpace(second); end != "5.0 dB" && end != "so to say" || strings.Contains(first, "5.0") {
			t.Errorf("%q is written as %q", text, p.String())
		}
	}
}

// The order is that of the root collation (Unicode Technical Standard 10, CLDR): letters with
// and without accents side by side, small letters first, then other scripts.
func TestByName(t *testing.T) {
	want := []string{"007", "7", "9", "10", "a", "Ægir", "Álbum", "album 2", "Älbum 10", "mix", "mix 2.wav", "Mix 2.wav", "mix 02b.wav", "mix 10.wav", "Søren", "Zoë", "Αθήνα", "東京"}
	names := slices.Clone(want)
	rand.New(rand.NewPCG(1, 1)).Shuffle(len(names), func(i, j int) { names[i], names[j] = names[j], names[i] })
	if got, want := strings.Join(ByName(names), "|"), strings.Join(want, "|"); got != want {
		t.Errorf("%s, want %s", got, want)
	}
}
