//go:build unix

package audiotest

import (
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"

	"toneplumb/spectrum/audio/codec"
)

// Speed compares the processor time of decoding with ffmpeg's. Each function of encode turns a WAV file of four minutes
// and 16 bits into a file, which both decode five times in turn; the test fails if the median of the ratios exceeds bar.
// The sound is the recording that TONEPLUMB_SONG names, or else a [Tune]. It is skipped unless TONEPLUMB_LONG is set.
func (open Opener) Speed(t *testing.T, bar float64, encode map[string]func(wav, out string)) {
	if os.Getenv("TONEPLUMB_LONG") == "" {
		t.Skip("TONEPLUMB_LONG is not set")
	}
	dir := t.TempDir()
	wav := filepath.Join(dir, "a.wav")
	if song := os.Getenv("TONEPLUMB_SONG"); song != "" {
		Run(t, "ffmpeg", "-v", "error", "-nostdin", "-stream_loop", "-1", "-i", song, "-t", "240", "-ar", "44100", "-ac", "2", "-c:a", "pcm_s16le", wav)
	} else {
		WriteWAV16(t, wav, 44100, Tune(44100, 2, 240, 0.4))
	}
	for name, encode := range encode {
		file := filepath.Join(dir, "encoded")
		encode(wav, file)
		var ratios []float64
		block := codec.NewBlock(2, 1<<14)
		for range 5 {
			before := processorTime(t)
			d := open.OpenFile(t, file)
			var err error
			for err == nil {
				_, err = d.Read(block)
			}
			if err != io.EOF {
				t.Fatal(err)
			}
			ours := processorTime(t) - before
			cmd := exec.Command("ffmpeg", "-v", "error", "-nostdin", "-threads", "1", "-i", file, "-f", "null", "-")
			if err := cmd.Run(); err != nil {
				t.Fatal(err)
			}
			theirs := cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
			t.Logf("%s: %v, ffmpeg %v", name, ours, theirs)
			ratios = append(ratios, float64(ours)/float64(theirs))
		}
		slices.Sort(ratios)
		t.Logf("%s: %.2f of ffmpeg's processor time", name, ratios[2])
		if ratios[2] > bar {
			t.Errorf("%s: %.2f of ffmpeg's processor time, want at most %g", name, ratios[2], bar)
		}
	}
}
