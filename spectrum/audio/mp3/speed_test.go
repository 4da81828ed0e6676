//go:build unix

package mp3

import (
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"syscall"
	"testing"
	"time"

	"toneplumb/spectrum/internal/audiotest"
)

// processorTime returns what this process has used of the processors.
func processorTime(t testing.TB) time.Duration {
	t.Helper()
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		t.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// TestMP3Speed compares processor time with ffmpeg's, in turn: median of the ratios. TONEPLUMB_SONG names a recording, of
// which four minutes are taken; without it they are a tune of ours.
func TestMP3Speed(t *testing.T) {
	if os.Getenv("TONEPLUMB_LONG") == "" {
		t.Skip("TONEPLUMB_LONG is not set")
	}
	audiotest.Tool(t, "lame")
	dir := t.TempDir()
	wav := filepath.Join(dir, "a.wav")
	if song := os.Getenv("TONEPLUMB_SONG"); song != "" {
		audiotest.Run(t, "ffmpeg", "-v", "error", "-nostdin", "-stream_loop", "-1", "-i", song, "-t", "240", "-ar", "44100", "-ac", "2", "-c:a", "pcm_s16le", wav)
	} else {
		audiotest.WriteWAV16(t, wav, 44100, audiotest.Tune(44100, 2, 240, 0.4))
	}
	for _, row := range []struct {
		name string
		args []string
	}{{"128", []string{"-b", "128"}}, {"V2", []string{"-V", "2"}}, {"320", []string{"-b", "320"}}} {
		file := filepath.Join(dir, row.name+".mp3")
		audiotest.Run(t, "lame", append(append([]string{"--quiet"}, row.args...), wav, file)...)
		var ratios []float64
		block := audiotest.NewBlock(2, 1<<14)
		for range 5 {
			before := processorTime(t)
			src := opener.OpenFile(t, file)
			var err error
			for err == nil {
				_, err = src.Read(block)
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
			t.Logf("%s: %v, ffmpeg %v", row.name, ours, theirs)
			ratios = append(ratios, float64(ours)/float64(theirs))
		}
		slices.Sort(ratios)
		t.Logf("%s: %.2f of ffmpeg's processor time", row.name, ratios[2])
		const bar = 2.5
		if ratios[2] > bar {
			t.Errorf("%s: %.2f of ffmpeg's processor time, want at most %.1f", row.name, ratios[2], bar)
		}
	}
}
