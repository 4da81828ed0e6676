package cli

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum/testkit"
)

// Every kind of PDF is sound by qpdf and has, by poppler's pdfinfo, a title and the parts of a
// tagged document: pages, a headline, and words in the place of each figure. qpdf 11 and poppler 22.12.
func TestPDFs(t *testing.T) {
	testkit.Tool(t, "qpdf")
	testkit.Tool(t, "pdfinfo")
	dir := t.TempDir()
	in := func(name string) string { return filepath.Join(dir, name) }
	briefRecordings(t, dir)
	write(t, dir, "sheet.csv", []byte("render,shape,freq_hz,gain_db,q\n1,bell,1000,4,1\n"))
	for _, args := range [][]string{
		{"match", in("mix.wav"), in("ref.wav"), "-o", in("handout.pdf")},
		{"match", in("mix.wav"), in("ref.wav"), "-o", in("worksheet.pdf"), "--blank", "--paper", "letter", "--sideways"},
		{"match", in("mix.wav"), in("ref.wav"), "-o", in("curve.csv")},
		{"fit", in("curve.csv"), "-o", in("fit.pdf")},
		{"class", "--ref", in("ref.wav"), in("mix.wav"), in("lead.wav"), "-o", in("class.pdf"), "--pages", in("pages")},
		{"tracks", in("mix.wav"), in("ref.wav"), in("lead.wav"), "-o", in("tracks.pdf")},
		{"exercise", in("mix.wav"), "-n", "2", "-o", in("page.html"), "-o", in("sheet.pdf"), "--answers", in("answers.json"), "--part", "0:01-0:05"},
		{"exercise", "--mark", in("sheet.csv"), "--answers", in("answers.json"), "-o", in("marks.pdf")},
	} {
		ran(t, args...)
	}
	written, _ := filepath.Glob(in("*.pdf"))
	pages, _ := filepath.Glob(in("pages/*.pdf"))
	if len(written) != 7 || len(pages) != 2 {
		t.Fatalf("written: %q, %q", written, pages)
	}
	for _, name := range append(written, pages...) {
		if out, err := exec.Command("qpdf", "--check", name).CombinedOutput(); err != nil {
			t.Errorf("%s: %v\n%s", filepath.Base(name), err, out) // exit code 3 is a warning
		}
		for option, wanted := range map[string][]string{"-isodates": {"Title:", "Tagged:          yes"}, "-struct": {"Document", "Sect", "H1"}} {
			out, err := exec.Command("pdfinfo", option, name).CombinedOutput()
			if err != nil || strings.Contains(string(out), "Error") {
				t.Errorf("%s: %v\n%s", filepath.Base(name), err, out)
			}
			for _, want := range wanted {
				if !strings.Contains(string(out), want) {
					t.Errorf("%s has no %s in\n%s", filepath.Base(name), want, out)
				}
			}
			file, _ := os.ReadFile(name)
			if figures := bytes.Count(out, []byte("Figure")); bytes.Count(file, []byte("/Alt<FEFF")) < figures {
				t.Errorf("%s: not every one of %d figures has words in its place", filepath.Base(name), figures)
			}
		}
	}
}

// briefRecordings writes mix.wav, lead.wav and ref.wav of 9 s, which differ enough for moves.
func briefRecordings(t *testing.T, dir string) {
	t.Helper()
	const seconds = 9
	synthesised(t, filepath.Join(dir, "mix.wav"), seconds, 1)
	synthesised(t, filepath.Join(dir, "lead.wav"), seconds, 1, biquad.Filter{Shape: biquad.Bell, FreqHz: 1000, GainDB: 6, Q: 1})
	synthesised(t, filepath.Join(dir, "ref.wav"), seconds, 2, biquad.Filter{Shape: biquad.HighShelf, FreqHz: 2500, GainDB: 9, Q: 0.7})
}
