package report

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
)

// Notes have what a session needs weeks later: how long and loud the recordings were, Q for the
// dials, and beside one reference that it is only one.
func TestMarkdownFigures(t *testing.T) {
	for name, hinted := range map[string]bool{"plain": true, "several": false} {
		r := cases()[name]
		var b bytes.Buffer
		if err := Markdown(&b, r); err != nil {
			t.Fatal(err)
		}
		got := b.String()
		for _, want := range []string{literally("(" + Figures(r.Mix, ", ") + ")"), literally("(" + Figures(r.References[0], ", ") + ")"), " | Q | ", fmt.Sprintf(" dB | %.2f | ", r.Moves[0].Q)} {
			if !strings.Contains(got, want) {
				t.Errorf("%s: no %q in\n%s", name, want, got)
			}
		}
		if strings.Contains(got, "One reference may just show") != hinted {
			t.Errorf("%s: hint of one reference: %s", name, got)
		}
	}
}

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
		if n := strings.Count(strings.ReplaceAll(line, `\|`, ""), "|"); n != 8 {
			t.Errorf("%d marks between cells: %s", n, line)
		}
	}
	if rows != len(r.Moves)+3 { // heading, line, trim
		t.Errorf("%d rows for %d moves", rows, len(r.Moves))
	}
}
