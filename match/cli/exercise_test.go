package cli

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"toneplumb/spectrum/audio"
)

// A sample rate that no page can hold is refused in two lines, before anything is written.
func TestExerciseRate(t *testing.T) {
	dir := t.TempDir()
	mix := filepath.Join(dir, "mix.wav")
	const rateHz = 700000 // FLAC holds up to 655350 (RFC 9639, section 8.2), a WAV any
	w, err := audio.CreateWAV(mix, rateHz, 1, audio.PCM16)
	if err != nil {
		t.Fatal(err)
	}
	block := audio.NewBlock(1, rateHz)
	for i := range block[0] {
		block[0][i] = 0.1 * float64(i%701) / 701
	}
	for range 6 {
		if err := w.Write(block); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	for _, more := range [][]string{{"-o", filepath.Join(dir, "a.html")}, {"-o", filepath.Join(dir, "a.html"), "--part", "0:01-0:05"}, {"-o", filepath.Join(dir, "a")}} {
		var stdout, stderr bytes.Buffer
		code := Run(context.Background(), append([]string{"exercise", mix, "-n", "2"}, more...), strings.NewReader(""), &stdout, &stderr)
		want := "toneplumb: \"" + mix + "\" has a sample rate of 700000 Hz [unusable-rate]\n  hint: convert it to a rate between 8 and 192 kHz, such as 44.1 or 48 kHz\n"
		if code != exitFailed || stderr.String() != want || stdout.Len() > 0 {
			t.Errorf("%q: exit code %d, %q, want %q", more, code, &stderr, want)
		}
	}
	if left, _ := os.ReadDir(dir); len(left) != 1 {
		t.Errorf("left over: %v", left)
	}
}
