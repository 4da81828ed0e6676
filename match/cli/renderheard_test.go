package cli

import (
	"path/filepath"
	"strings"
	"testing"

	"toneplumb/spectrum/audio"
)

// A reference of one channel is played by both loudspeakers: beside the same sound in two channels
// it is as loud as it is. Closed form: two equal channels have twice the power of one.
func TestReferenceAsHeard(t *testing.T) {
	dir := t.TempDir()
	one, two := filepath.Join(dir, "one.wav"), filepath.Join(dir, "two.wav")
	phrases(t, one, 44100, 1, audio.PCM16, 5)
	src, err := audio.Open(t.Context(), one)
	if err != nil {
		t.Fatal(err)
	}
	defer src.Close()
	x, err := audio.ReadFrames(t.Context(), src, 0, 5*44100, 1)
	if err != nil {
		t.Fatal(err)
	}
	w, err := audio.CreateWAV(two, 44100, 2, audio.PCM16)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write([][]float64{x[0], x[0]}); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	for _, c := range [][2]string{{two, one}, {one, two}} {
		text := ran(t, "render", c[0], "--reference", c[1], "-o", filepath.Join(t.TempDir(), "out.wav"))
		if !strings.Contains(text, "The reference is written 0.0 dB ") || !strings.Contains(text, "a single channel") {
			t.Errorf("beside %s:\n%s", filepath.Base(c[0]), text)
		}
	}
}
