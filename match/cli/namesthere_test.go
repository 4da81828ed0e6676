package cli

import (
	"bytes"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"toneplumb/match/cli/internal/exercise"
	"toneplumb/match/training"
	"toneplumb/spectrum/testkit"
)

// readable is what can be read of a file, in small letters, and the file's name: a PDF's
// text where poppler's pdftotext is there to read it, the words in sealed answers, and
// all else as it is.
func readable(t *testing.T, name string, content []byte) string {
	t.Helper()
	text := string(content)
	switch {
	case strings.HasSuffix(name, exercise.AnswersEnd):
		a, err := training.Open(bytes.NewReader(content), "")
		if err != nil {
			t.Fatal(err)
		}
		text += a.Mix
	case filepath.Ext(name) == ".pdf":
		if _, err := exec.LookPath("pdftotext"); err != nil {
			t.Logf("%s is compared, but not searched: %v", name, err)
			break
		}
		tool := exec.Command("pdftotext", "-raw", "-", "-")
		tool.Stdin = bytes.NewReader(content)
		words, err := tool.Output()
		if err != nil {
			t.Fatal(err)
		}
		text += string(words)
	}
	return strings.ToLower(name + "\n" + text)
}

// around is what stands around a word.
func around(text, word string) string {
	at := strings.Index(text, word)
	return text[max(0, at-60):min(len(text), at+len(word)+40)]
}

// TestNamesAreThere is that TestNames looks where names stand: without --plain the same
// files have them, and of two files of one name each has its own.
func TestNamesAreThere(t *testing.T) {
	testkit.Skip(t, "five commands with every output")
	inputs, root := t.TempDir(), t.TempDir()
	namesInputs(t, inputs)
	paths := placedNames[0].put(t, root, inputs, placedNames[0].names)
	for _, c := range []struct {
		args string
		want map[string]string
	}{
		{"match {mix} {twin} -o page.html -o handout.pdf -o settings.json -o text.txt", map[string]string{
			"page.html": "orla_quince.wav (2)", "handout.pdf": "orla_quince.wav (2)", "settings.json": `"file": "orla_quince.wav (2)"`, "text.txt": "orla_quince.wav (2)", "stdout": "orla_quince.wav "}},
		{"class --ref {ref} {mix} {twin} -o class.csv -o class.html --pages pages", map[string]string{
			"class.csv": "\n2,orla_quince.wav (2),", "class.html": "ferry_tune.wav", "pages/orla_quince-2.pdf": "orla_quince.wav (2)"}},
		{"match {mix} {ref} --lead {lead} --already {already} -o text.txt", map[string]string{"text.txt": "after the moves orla_voice.wav is"}},
		{"match {mix} {ref} --already {already} -o page.html", map[string]string{"page.html": "the moves of orla_monday.json"}},
		{"exercise {mix} -n 1 -o lesson -o page.html --part 0:01-0:05", map[string]string{"page.html": "orla_quince.wav", "lesson/sheet.pdf": "orla_quince.wav"}},
	} {
		got := artefacts(t, strings.Fields(c.args), paths, nil)
		for file, want := range c.want {
			t.Run(file+" of "+c.args, func(t *testing.T) {
				if filepath.Ext(file) == ".pdf" {
					testkit.Tool(t, "pdftotext")
				}
				if !strings.Contains(readable(t, file, got[file]), want) {
					t.Errorf("no %q", want)
				}
			})
		}
	}
}
