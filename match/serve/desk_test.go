package serve

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
)

// onDisk writes content to a file of the test.
func onDisk(t testing.TB, content []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "x")
	if err := os.WriteFile(path, content, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// From two recordings that are dropped to everything that can be taken away.
func TestDropToDownload(t *testing.T) {
	v := start(t)
	b := v.open()
	b.shot("empty")
	b.dropOn("rough mix.wav", onDisk(t, sound(t, 24, 1, faults...)), "reference.wav", onDisk(t, sound(t, 24, 2)))
	b.until(settled)
	b.shot("found")
	if n := b.text(`document.querySelectorAll("#rows tbody").length`); n != b.text(`desk.answer.advised.length`) || n == "0" {
		t.Errorf("%s rows of moves", n)
	}
	if got := b.textOf("true-peak-after"); got != "not yet computed" {
		t.Errorf("the true peak reads %q", got)
	}
	for button, start := range map[string]string{"chart.png": "\x89PNG", "handout.pdf": "%PDF-", "settings.json": "{", "page.html": "<!DOCTYPE html>", "profile.json": "{", "mix.wav": "RIFF"} {
		eval[bool](b, `document.querySelector("[data-take='`+button+`']").click() ?? true`)
		name := "rough mix " + button
		if button == "mix.wav" {
			name = "rough mix through the moves.wav"
		}
		if raw := b.downloaded(name); !bytes.HasPrefix(raw, []byte(start)) {
			t.Errorf("%s begins with %.20q", name, raw)
		}
	}
	b.quiet()
}
