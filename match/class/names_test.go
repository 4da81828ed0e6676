package class

import (
	"bytes"
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

func TestPageNames(t *testing.T) {
	got := PageNames([]string{"a/b:c.wav", "Take.wav", "take.flac", "CON.wav", "con", "..wav", "…", "x.tar.gz", strings.Repeat("é", 200) + ".wav"}, ".pdf")
	want := []string{"a-b-c.pdf", "Take.pdf", "take-2.pdf", "mix CON.pdf", "mix con-2.pdf", "mix.pdf", "mix-2.pdf", "x.tar.pdf", strings.Repeat("é", 50) + ".pdf"}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("%q, want %q", got[i], want[i])
		}
	}
}
