package report

import (
	"bytes"
	"strings"
	"testing"
)

// A name with Markdown's own marks neither breaks the table nor makes anything of it.
func TestMarkdownNames(t *testing.T) {
	const name = "a|b_*<img>` [x](y).wav"
	if got, want := literally(name), "a\\|b\\_\\*\\<img\\>\\` \\[x\\](y).wav"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	r := cases()["plain"]
	mix := *r.Mix
	mix.Name = name
	r.Mix = &mix
	var b bytes.Buffer
	if err := Markdown(&b, r); err != nil {
		t.Fatal(err)
	}
	rows := 0
	for line := range strings.Lines(b.String()) {
		if !strings.HasPrefix(line, "|") {
			continue
		}
		rows++
		if n := strings.Count(strings.ReplaceAll(line, `\|`, ""), "|"); n != 7 {
			t.Errorf("%d marks between cells: %s", n, line)
		}
	}
	if rows != len(r.Moves)+3 { // heading, line, trim
		t.Errorf("%d rows for %d moves", rows, len(r.Moves))
	}
}
