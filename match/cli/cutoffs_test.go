package cli

import (
	"context"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"toneplumb/match/job"
	"toneplumb/spectrum"
)

// The low-pass search on music that reaches to 20 kHz. TONEPLUMB_MIDI names a
// folder of uncompressed recordings, 44.1 kHz WAV of a minute each; .ci/run renders
// ten. Each row is a way to code or treat them. Each song goes through every fifth
// row, 30 s of it; with TONEPLUMB_LONG=1 through all, 60 s.

// cutoffToleranceHz is our choice: a 23rd of an octave at 16 kHz, about a band, and a
// sixth of the margin that is left out below a low-pass.
const cutoffToleranceHz = 500

// judgedToHz is the upper edge of the highest band: a low-pass above it takes
// nothing that is judged and need not be found.
var judgedToHz = spectrum.EdgeHz(spectrum.BandCount)

// treatment is one row: what is done to the song, and where its spectrum then ends.
type treatment struct {
	name   string
	wantHz float64    // 0: nothing may be found
	file   string     // what the commands leave
	steps  [][]string // commands; IN and DIR are replaced
}

func lame(kbit int, hz float64) treatment {
	return treatment{name: fmt.Sprintf("MP3 %d", kbit), wantHz: hz, file: "x.mp3",
		steps: [][]string{{"lame", "--silent", "-b", fmt.Sprint(kbit), "IN", "DIR/x.mp3"}}}
}

func ffmpegCoding(name string, hz float64, file string, args ...string) treatment {
	step := append([]string{"ffmpeg", "-v", "error", "-nostdin", "-i", "IN"}, args...)
	return treatment{name: name, wantHz: hz, file: file, steps: [][]string{append(step, "DIR/"+file)}}
}

func vorbis(q int, hz float64) treatment {
	return ffmpegCoding(fmt.Sprintf("Vorbis q%d", q), hz, "x.ogg", "-c:a", "libvorbis", "-q:a", fmt.Sprint(q))
}

func aac(kbit int, hz float64) treatment {
	return ffmpegCoding(fmt.Sprintf("AAC %d", kbit), hz, "x.m4a", "-c:a", "aac", "-b:a", fmt.Sprintf("%dk", kbit))
}

func soxed(name string, hz float64, steps ...[]string) treatment {
	return treatment{name: name, wantHz: hz, file: "x.wav", steps: steps}
}

// Low-passes: MP3 as LAME 3.100 itself says, within 0.2 kHz; the others the −20 dB
// point of a minute of white noise after coding by ffmpeg 5.1 (scipy's welch), which
// is coded in long windows. Short windows have coarser bands and end elsewhere: of
// clicks in silence the same point is 16.6 kHz for AAC 96, 16.7 for Vorbis q1 and
// 18.1 for q3. What sounds between attacks is wanted here.
var treatments = []treatment{
	soxed("uncompressed", 0, []string{"sox", "IN", "DIR/x.wav"}),
	lame(64, 10900), lame(96, 15100), lame(128, 16500), lame(160, 17200), lame(192, 18700), lame(256, 19400), lame(320, 20100),
	aac(96, 15900), aac(128, 17300), aac(192, 19350),
	vorbis(1, 15900), vorbis(2, 16600), vorbis(3, 17300), vorbis(4, 19000), vorbis(5, 20400), vorbis(6, 21300),
	ffmpegCoding("Opus 96", 20100, "x.opus", "-c:a", "libopus", "-b:a", "96k"),
	soxed("synth low-pass, 12 dB per octave from 6 kHz", 0, []string{"sox", "IN", "DIR/x.wav", "lowpass", "-2", "6000"}),
	soxed("44.1 kHz taken up to 48", 0, []string{"sox", "-G", "IN", "-r", "48000", "DIR/x.wav"}),
	soxed("44.1 kHz taken up to 96", 0, []string{"sox", "-G", "IN", "-r", "96000", "-b", "24", "DIR/x.wav"}),
	// sox's rate is 3 dB down at 0.95 of half the rate (its manual).
	soxed("32 kHz taken up to 44.1", 15200, []string{"sox", "-G", "IN", "-r", "32000", "DIR/y.wav"}, []string{"sox", "-G", "DIR/y.wav", "-r", "44100", "DIR/x.wav"}),
	soxed("22.05 kHz taken up to 44.1", 10474, []string{"sox", "-G", "IN", "-r", "22050", "DIR/y.wav"}, []string{"sox", "-G", "DIR/y.wav", "-r", "44100", "DIR/x.wav"}),
	soxed("taken down to 32 kHz", 0, []string{"sox", "-G", "IN", "-r", "32000", "DIR/x.wav"}),
	soxed("top sinks into the dither of 16 bits", 0, []string{"sox", "IN", "-b", "16", "DIR/x.wav", "lowpass", "-2", "3000", "lowpass", "-2", "3000", "gain", "-30", "dither"}),
	soxed("10 s", 0, []string{"sox", "IN", "DIR/x.wav", "trim", "10", "10"}),
	soxed("half of it silence", 0, []string{"sox", "IN", "DIR/x.wav", "pad", "10", "20"}),
	{name: "10 s, MP3 128", wantHz: 16500, file: "x.mp3", steps: [][]string{{"sox", "IN", "DIR/y.wav", "trim", "10", "10"}, {"lame", "--silent", "-b", "128", "DIR/y.wav", "DIR/x.mp3"}}},
	{name: "half of it silence, MP3 128", wantHz: 16500, file: "x.mp3", steps: [][]string{{"sox", "IN", "DIR/y.wav", "pad", "10", "20"}, {"lame", "--silent", "-b", "128", "DIR/y.wav", "DIR/x.mp3"}}},
}

func TestCutoffs(t *testing.T) {
	folder := os.Getenv("TONEPLUMB_MIDI")
	if folder == "" {
		t.Skip("TONEPLUMB_MIDI names no folder of uncompressed full-band recordings; .ci/run does")
	}
	songs, err := filepath.Glob(filepath.Join(folder, "*.wav"))
	if err != nil || len(songs) < 10 {
		t.Fatalf("%s holds %d WAV files (%v); the bars are for 10", folder, len(songs), err)
	}
	every, sec := 5, "30"
	if os.Getenv("TONEPLUMB_LONG") != "" {
		every, sec = 1, "60"
	}
	found := make([][]float64, len(songs)) // by treatment; NaN: not tried
	t.Run("songs", func(t *testing.T) {
		for i, song := range songs {
			found[i] = slices.Repeat([]float64{math.NaN()}, len(treatments))
			t.Run(filepath.Base(song), func(t *testing.T) {
				t.Parallel()
				part := filepath.Join(t.TempDir(), "part.wav")
				mustRun(t, "sox", song, part, "trim", "0", sec)
				for j, tr := range treatments {
					if (i+j)%every == 0 || tr.name == "uncompressed" {
						found[i][j] = tr.cutoff(t, part)
					}
				}
			})
		}
	})
	for j, tr := range treatments {
		tried, right := 0, 0
		words := ""
		for i := range songs {
			hz := found[i][j]
			if math.IsNaN(hz) {
				continue
			}
			tried++
			near := math.Abs(hz-tr.wantHz) <= cutoffToleranceHz
			spared := tr.wantHz > judgedToHz && hz == 0
			switch {
			case near || spared:
				right++
			default:
				t.Errorf("%s of %s: %.0f Hz, want %.0f ± %d", tr.name, filepath.Base(songs[i]), hz, tr.wantHz, cutoffToleranceHz)
			}
			words += fmt.Sprintf(" %.0f", hz)
		}
		t.Logf("%-44s want %5.0f: %2d of %2d;%s", tr.name, tr.wantHz, right, tried, words)
		if tried == 0 {
			t.Errorf("%s: no song went through it", tr.name)
		}
	}
}

// cutoff treats a song and returns what the search finds, Hz.
func (tr treatment) cutoff(t *testing.T, song string) float64 {
	dir := t.TempDir()
	fill := strings.NewReplacer("IN", song, "DIR", dir)
	for _, step := range tr.steps {
		args := make([]string, len(step))
		for i, a := range step {
			args[i] = a
			if a == "IN" || strings.HasPrefix(a, "DIR/") {
				args[i] = fill.Replace(a)
			}
		}
		mustRun(t, args[0], args[1:]...)
	}
	r, err := job.Reader{}.Measure(context.Background(), filepath.Join(dir, tr.file))
	if err != nil {
		t.Fatal(err)
	}
	return r.CutoffHz
}

func mustRun(t *testing.T, name string, args ...string) {
	t.Helper()
	if out, err := exec.Command(name, args...).CombinedOutput(); err != nil {
		t.Fatalf("%s %v: %v\n%s", name, args, err, out)
	}
}
