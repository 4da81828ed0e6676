package page

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"regexp"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/report"
	"toneplumb/spectrum/measure"
)

// ugly are names that a page must not be broken by.
var ugly = []string{
	`</script><script>alert(1)</script><img src=x onerror=alert(2)>.wav`,
	strings.Repeat("very long name ", 8) + ".wav", // 124 characters
	"Größe & Übermut – 混音 ミックス.wav",
}

// A page asks for nothing outside itself and runs nothing but its own script, whatever
// the recordings are called; the same input gives the same bytes.
func TestWrite(t *testing.T) {
	p := usual(t)
	if len(p.html) > MaxBytes {
		t.Errorf("%d bytes, at most %d", len(p.html), MaxBytes)
	}
	// An l of a label is 13.77 high in a figure of 1350, here and in the figures of parts.
	if !bytes.Contains(p.html, []byte("l0-13.77 2.6 0")) {
		t.Error("the chart's letters are not of their own size")
	}
	if again := written(t, p.result, p.sound); !bytes.Equal(again, p.html) {
		t.Error("another run has other bytes")
	}
	short := &Sound{Mix: p.sound.Mix.First(0.2), Reference: p.sound.Reference.First(0.2)} // sound takes long to search
	for _, name := range ugly {
		r := *p.result
		mix := *r.Mix
		mix.Name, r.Mix = measure.NameOf(name), &mix
		html := string(written(t, &r, short))
		for what, found := range map[string][]string{
			"address":  regexp.MustCompile(`(?i)(?:src|href|action|poster)\s*=\s*"?(?:[a-z]+:)?//[^\s">]*`).FindAllString(html, -1),
			"in style": regexp.MustCompile(`(?i)@import|url\(`).FindAllString(html, -1),
			"handler":  regexp.MustCompile(`(?i)<[a-z][^>]*\son[a-z]+\s*=`).FindAllString(html, -1),
		} {
			if len(found) > 0 {
				t.Errorf("%.20q: %s %q", name, what, found)
			}
		}
		if n := strings.Count(html, "<script"); n != 4 { // data, two sounds, the script
			t.Errorf("%.20q: %d scripts, want 4", name, n)
		}
		if d := dataIn(t, []byte(html)); d.Recordings[0].File != NewData(&r).Recordings[0].File {
			t.Errorf("%.20q: called %q in the data", name, d.Recordings[0].File)
		}
	}
}

// Without sound, moves or recordings there is still a page, and it says what is missing.
func TestWithout(t *testing.T) {
	p := usual(t)
	for _, c := range []struct {
		name   string
		moves  []biquad.Filter
		sound  *Sound
		player bool
		words  string
	}{
		{"no reference's sound", usualMoves, &Sound{Mix: p.sound.Mix, Notes: []string{"not in this page"}}, true, "not in this page"},
		{"no moves", nil, p.sound, true, "no moves"},
		{"mix alone and no moves", nil, &Sound{Mix: p.sound.Mix}, false, "nothing to compare"},
		{"no sound", usualMoves, &Sound{Notes: []string{"holds no sound"}}, false, "holds no sound"},
	} {
		cmp, err := match.Compare(p.result.Mix, []*measure.Recording{p.result.References[0]}, match.DefaultCompare())
		if err != nil {
			t.Fatal(err)
		}
		html := written(t, cmp.With(c.moves, match.DefaultSolve()), c.sound)
		d := dataIn(t, html)
		if (d.Player != nil) != c.player {
			t.Errorf("%s: player %v", c.name, d.Player != nil)
		}
		if !strings.Contains(strings.ToLower(string(html)), c.words) {
			t.Errorf("%s: nothing says %q", c.name, c.words)
		}
		if d.Player != nil {
			if n := len(d.Player.Sources); n != 2 {
				t.Errorf("%s: %d sources, want 2", c.name, n)
			}
		}
		if !c.player && bytes.Contains(html, []byte("startPlayer")) {
			t.Errorf("%s: a script without a player", c.name)
		}
	}
}

// A part of another command stands in the page, its words escaped, its chart on both papers.
func TestPart(t *testing.T) {
	p := usual(t)
	bad := ugly[0]
	part := &Part{Heading: "Which track " + bad, InWords: bad, Blocks: []report.Block{
		{Items: []report.Item{{Lead: bad, Paragraphs: []string{bad, "second"}}}},
		{Heading: "changes", Head: []string{"track", "move 1"}, Rows: [][]string{{bad, "−0.1"}}},
	}, Charts: func(dark bool) ([]string, error) {
		return []string{fmt.Sprintf("<?xml?><svg><title>%v</title><desc></desc></svg>", dark)}, nil
	}}
	var out bytes.Buffer
	if err := Write(context.Background(), &out, p.result, nil, part); err != nil {
		t.Fatal(err)
	}
	html := out.String()
	if strings.Contains(html, "<img src=x") || strings.Count(html, "<script") != 1 { // the data
		t.Error("a name is let through")
	}
	for _, want := range []string{"<h3>changes</h3>", "<td>−0.1</td>", "<p>second</p>", `<div class="on-dark"><svg><title>Which track`} {
		if !strings.Contains(html, want) {
			t.Errorf("no %q", want)
		}
	}
	part.Charts = func(bool) ([]string, error) { return nil, errors.New("no paper") }
	if err := Write(context.Background(), &out, p.result, nil, part); err == nil {
		t.Error("a chart that cannot be drawn passes")
	}
}

// Longer sound than a page holds is shortened, and the page says so.
func TestShortened(t *testing.T) {
	p := usual(t)
	d := pageFields{Data: NewData(p.result)}
	const room = 1_000_000
	if err := p.sound.addTo(context.Background(), &d, p.result, room); err != nil {
		t.Fatal(err)
	}
	total := 0
	for _, s := range d.Sounds {
		total += len(s.Base64)
	}
	if total > room || total < room*8/10 { // not shorter than it must be
		t.Errorf("%d bytes of sound in room for %d", total, room)
	}
	if last := d.SoundNotes[len(d.SoundNotes)-1]; !strings.Contains(last, "stays under 15 MB") {
		t.Errorf("said %q", last)
	}
}
