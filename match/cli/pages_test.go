package cli

import (
	"path/filepath"
	"testing"

	"toneplumb/match/internal/browser"
	"toneplumb/spectrum/testkit"
)

// axe-core finds nothing serious in any page that the commands write, on light and dark paper, wide and narrow; and the
// pages bring all they need. TONEPLUMB_AXE names axe.min.js.
func TestWrittenPages(t *testing.T) {
	testkit.Skip(t, "drives a browser")
	t.Cleanup(browser.Stop) // after its tabs
	dir := t.TempDir()
	in := func(name string) string { return filepath.Join(dir, name) }
	briefRecordings(t, dir)
	for page, args := range map[string][]string{
		"saved.html":    {"match", in("mix.wav"), in("ref.wav")},
		"fit.html":      {"fit", write(t, dir, "curve.csv", []byte("freq_hz,gain_db\n100,3\n1000,0\n8000,-2\n"))},
		"class.html":    {"class", "--ref", in("ref.wav"), in("mix.wav"), in("lead.wav")},
		"tracks.html":   {"tracks", in("mix.wav"), in("ref.wav"), in("lead.wav")},
		"exercise.html": {"exercise", in("mix.wav"), "-n", "2", "--part", "0:01-0:05"},
	} {
		ran(t, append(args, "-o", in(page))...)
		b := browser.Open(t, "file://"+in(page))
		b.As(1280, 800, "light")
		b.Accessible(page, "html")
		b.As(360, 780, "dark")
		b.Accessible(page+", narrow and dark", "html")
		b.Quiet()
	}
}
