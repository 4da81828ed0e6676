package class

import (
	"bytes"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

// Names are text in the page, never part of it.
func TestOverviewNames(t *testing.T) {
	var b bytes.Buffer
	if err := Overview(&b, tableOf(t, false)); err != nil {
		t.Fatal(err)
	}
	page := b.String()
	if !strings.Contains(page, `Zoë &lt;b&gt;&amp;amp; &#34;Søn&#34;&lt;b&gt;`) {
		t.Error("the name is not there as it is written")
	}
	for _, hidden := range []string{"<b>", "<script", "http", "src=", "url(", "NaN", "Inf"} {
		if strings.Contains(page, hidden) {
			t.Errorf("has %q", hidden)
		}
	}
}

// The order is that of the root collation (Unicode Technical Standard 10, CLDR): letters with
// and without accents side by side, small letters first, then other scripts.
func TestByName(t *testing.T) {
	want := []string{"007", "7", "9", "10", "a", "Álbum", "album 2", "Älbum 10", "mix", "mix 2.wav", "Mix 2.wav", "mix 02b.wav", "mix 10.wav", "Søren", "Zoë", "Αθήνα", "東京"}
	names := slices.Clone(want)
	rand.New(rand.NewPCG(1, 1)).Shuffle(len(names), func(i, j int) { names[i], names[j] = names[j], names[i] })
	slices.SortFunc(names, byName())
	if got, want := strings.Join(names, "|"), strings.Join(want, "|"); got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

func TestPageNames(t *testing.T) {
	got := PageNames([]string{"a/b:c.wav", "Take.wav", "take.flac", "CON.wav", "con", "..wav", "…", "x.tar.gz", strings.Repeat("é", 200) + ".wav"}, ".pdf")
	want := []string{"a-b-c.pdf", "Take.pdf", "take-2.pdf", "mix CON.pdf", "mix con-2.pdf", "mix.pdf", "mix-2.pdf", "x.tar.pdf", strings.Repeat("é", 50) + ".pdf"}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("%q, want %q", got[i], want[i])
		}
	}
}
