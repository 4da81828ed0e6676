package cli

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/job"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
)

// The main job on real music. TONEPLUMB_SONGS names a folder of recordings (any
// that ffmpeg reads, 12 or more); mixes are made from them by sox, which agrees
// with the cookbook's formulas, so the right answer is known. One row per figure. Its
// limits are our choice: small against the 0.5 dB step of a gain. match/testdata/README.md
// has what was measured.

// songSec of each song are used.
const songSec = 100

// trial is what one song gave, by the name of the figure.
type trial map[string]float64

// bar is what the median and the worst of a figure may reach.
type bar struct {
	name          string
	median, worst float64
}

var bars = []bar{
	{"same song, curve: rms dB", 0.01, 0.03},
	{"same song, curve: max dB", 0.05, 0.20},
	{"same song, moves unrounded: rms dB", 0.03, 0.10},
	{"same song, moves on the dials: rms dB", 0.12, 0.20},
	{"reference as 128 kbit/s MP3, moves to 12 kHz: rms dB", 0.20, math.Inf(1)},
	{"reference as 128 kbit/s MP3, moves to 12 kHz: max dB", 0.60, math.Inf(1)},
	{"48 kHz against 44.1: max dB", 0.08, 0.08},
	{"96 kHz against 44.1: max dB", 0.08, 0.08},
	{"24 bit against 16: max dB", 0.08, 0.08},
	{"float against 16 bit: max dB", 0.08, 0.08},
	{"FLAC against WAV: max dB", 0.08, 0.08},
	{"AIFF against WAV: max dB", 0.08, 0.08},
	{"ALAC through ffmpeg against WAV: max dB", 0.08, 0.08},
	{"MP3 320 kbit/s against WAV, below its cut-off: max dB", 0.5, 0.5},
	{"Vorbis q6 against WAV, below its cut-off: max dB", 0.5, 1}, // worst: what the codec does where a song is thin
	{"Opus 128 kbit/s against WAV, below its cut-off: max dB", 0.5, 1},
	{"AAC 192 kbit/s through ffmpeg against WAV, below its cut-off: max dB", 0.5, 1},
	{"copy 14 dB quieter: moves", 0, 0},
	{"copy 14 dB quieter: distance dB", 0.005, 0.005},
	{"copy 14 dB quieter: trim dB", 0.05, 0.05},
	{"copy 0.37 s later: curve max dB", 0.15, 0.50}, // more than of other copies: 0.4 % of the music is really missing
	{"predicted trim, error: LU", 0.06, 0.06},
	{"40 s of silence before one side, 60 Hz to 12 kHz: max dB", 0.05, 0.05},
	{"40 s of hiss at −60 dBFS before one side: max dB", 0.05, 0.5},
	{"a faded tail of 20 s after one side: max dB", 0.5, 0.5},
}

func TestSongs(t *testing.T) {
	folder := os.Getenv("TONEPLUMB_SONGS")
	if folder == "" {
		t.Skip("TONEPLUMB_SONGS names no folder of recordings; .ci/run does")
	}
	files, err := filepath.Glob(filepath.Join(folder, "*"))
	if err != nil || len(files) == 0 {
		t.Fatalf("%s holds no recordings (%v)", folder, err)
	}
	if len(files) < 12 { // what .ci/run takes in its time: fewer make a median a matter of luck
		t.Errorf("%s holds %d recordings; the bars are for 12 or more", folder, len(files))
	}
	trials := make([]trial, len(files))
	t.Run("songs", func(t *testing.T) {
		for i, file := range files {
			t.Run(filepath.Base(file), func(t *testing.T) {
				t.Parallel()
				trials[i] = trySong(t, file, uint64(i))
			})
		}
	})
	t.Logf("%d songs", len(files))
	for _, b := range bars {
		var all []float64
		worstSong := 0
		for i, tr := range trials {
			v, ok := tr[b.name]
			if !ok {
				continue // only every fourth song goes through all codings
			}
			if v > trials[worstSong][b.name] {
				worstSong = i
			}
			all = append(all, v)
		}
		if len(all) == 0 {
			t.Errorf("no song gave %q", b.name)
			continue
		}
		slices.Sort(all)
		median, worst := (all[(len(all)-1)/2]+all[len(all)/2])/2, all[len(all)-1]
		t.Logf("%-68s median %.4f (bar %g) worst %.4f (bar %g) %s", b.name, median, b.median, worst, b.worst, filepath.Base(files[worstSong]))
		if !(median <= b.median && worst <= b.worst) {
			t.Errorf("%s: over the bar", b.name)
		}
	}
}

// trySong makes mixes of one song and compares.
func trySong(t *testing.T, file string, seed uint64) trial {
	dir := t.TempDir()
	in := func(name string) string { return filepath.Join(dir, name) }
	run := func(name string, args ...string) {
		if out, err := exec.Command(name, args...).CombinedOutput(); err != nil {
			t.Fatalf("%s %v: %v\n%s", name, args, err, out)
		}
	}
	ref := in("ref.wav")
	run("ffmpeg", "-v", "error", "-nostdin", "-i", file, "-t", fmt.Sprint(songSec), "-ac", "2", "-ar", "44100", "-c:a", "pcm_s16le", ref)

	rng := rand.New(rand.NewPCG(seed, 20))
	filters := someMoves(rng)
	mix := in("mix.wav")
	args := []string{ref, "-b", "24", mix, "gain", "-14"}
	for _, f := range filters {
		args = append(args, soxEffect(f)...)
	}
	run("sox", args...)
	run("lame", "--silent", "-b", "128", ref, in("ref.mp3"))
	run("sox", ref, "-r", "48000", "-b", "24", in("48.wav"), "gain", "-3", "rate", "-v")
	run("sox", ref, "-r", "96000", "-b", "24", in("96.wav"), "gain", "-3", "rate", "-v")
	run("sox", ref, "-b", "24", in("24.wav"))
	run("sox", ref, "-e", "floating-point", "-b", "32", in("float.wav"))
	run("flac", "-s", "-f", "-o", in("ref.flac"), ref)
	encode := func(file string, args ...string) {
		run("ffmpeg", append(append([]string{"-v", "error", "-nostdin", "-i", ref}, args...), in(file))...)
	}
	codings := map[string]string{}
	if seed%4 == 0 {
		encode("ref.aiff")
		encode("ref.m4a", "-c:a", "alac")
		encode("aac.m4a", "-c:a", "aac", "-b:a", "192k")
		encode("ref.ogg", "-c:a", "libvorbis", "-q:a", "6")
		encode("ref.opus", "-c:a", "libopus", "-b:a", "128k")
		run("lame", "--silent", "-b", "320", ref, in("320.mp3"))
		codings = map[string]string{
			"AIFF against WAV: max dB":                                             "ref.aiff",
			"ALAC through ffmpeg against WAV: max dB":                              "ref.m4a",
			"MP3 320 kbit/s against WAV, below its cut-off: max dB":                "320.mp3",
			"Vorbis q6 against WAV, below its cut-off: max dB":                     "ref.ogg",
			"Opus 128 kbit/s against WAV, below its cut-off: max dB":               "ref.opus",
			"AAC 192 kbit/s through ffmpeg against WAV, below its cut-off: max dB": "aac.m4a",
		}
	}
	run("sox", ref, "-b", "24", in("quiet.wav"), "gain", "-14")
	run("sox", ref, in("later.wav"), "trim", "0.37")
	run("sox", ref, in("silence.wav"), "pad", "40")
	// sox's white noise fills ±1 evenly: 4.8 dB under full scale rms.
	run("sox", "-n", "-r", "44100", "-c", "2", "-b", "16", in("hiss-only.wav"), "synth", "40", "whitenoise", "vol", "-55dB")
	run("sox", in("hiss-only.wav"), ref, in("hiss.wav"))
	run("sox", ref, in("end.wav"), "trim", "80", "20", "fade", "t", "0", "20", "20")
	run("sox", ref, in("end.wav"), in("tail.wav"))

	tables := map[string]*measure.Recording{}
	table := func(path string) *measure.Recording {
		if tables[path] == nil {
			r, err := job.Reader{}.Measure(context.Background(), path)
			if err != nil {
				t.Fatal(err)
			}
			tables[path] = r
		}
		return tables[path]
	}
	compare := func(mix, ref string) *match.Comparison {
		c, err := match.Compare(table(mix), []*measure.Recording{table(ref)}, match.DefaultCompare())
		if err != nil {
			t.Fatal(err)
		}
		return c
	}

	result := trial{}
	hz := spectrum.Centres()
	truth := biquad.ResponseDB(nil, filters, hz, 44100)
	for b := range truth {
		truth[b] = -truth[b] // the mix got the filters; the moves take them back
	}
	c := compare(mix, ref)
	smoothed := smoothLike(c, truth)
	result["same song, curve: rms dB"], result["same song, curve: max dB"] = apart(c, c.DifferenceDB, smoothed, 40, 16000)

	o := match.DefaultSolve()
	o.MaxMoves, o.TowardPercent, o.Equaliser = 5, 100, evaluationEqualiser(true)
	result["same song, moves unrounded: rms dB"], _ = apart(c, c.Solve(o).FittedDB, truth, 40, 16000)
	o.Equaliser = evaluationEqualiser(false)
	solved := c.Solve(o)
	result["same song, moves on the dials: rms dB"], _ = apart(c, solved.FittedDB, truth, 40, 16000)

	lossy := compare(mix, in("ref.mp3"))
	o.Equaliser = evaluationEqualiser(true)
	rms, most := apart(lossy, lossy.Solve(o).FittedDB, truth, 40, 12000)
	result["reference as 128 kbit/s MP3, moves to 12 kHz: rms dB"], result["reference as 128 kbit/s MP3, moves to 12 kHz: max dB"] = rms, most

	zero := make([]float64, spectrum.BandCount)
	codings["48 kHz against 44.1: max dB"] = "48.wav"
	codings["96 kHz against 44.1: max dB"] = "96.wav"
	codings["24 bit against 16: max dB"] = "24.wav"
	codings["float against 16 bit: max dB"] = "float.wav"
	codings["FLAC against WAV: max dB"] = "ref.flac"
	codings["copy 0.37 s later: curve max dB"] = "later.wav"
	for name, file := range codings {
		c := compare(ref, in(file))
		_, result[name] = apart(c, c.DifferenceDB, zero, 40, 14000)
	}
	for name, file := range map[string]string{
		"40 s of silence before one side, 60 Hz to 12 kHz: max dB": "silence.wav",
		"40 s of hiss at −60 dBFS before one side: max dB":         "hiss.wav",
		"a faded tail of 20 s after one side: max dB":              "tail.wav",
	} {
		c := compare(ref, in(file))
		_, result[name] = apart(c, c.DifferenceDB, zero, 60, 12000)
	}

	o = match.DefaultSolve()
	o.TowardPercent = 100
	quiet := compare(in("quiet.wav"), ref).Solve(o)
	result["copy 14 dB quieter: moves"] = float64(len(quiet.Moves))
	result["copy 14 dB quieter: distance dB"] = quiet.DistanceAfterDB
	result["copy 14 dB quieter: trim dB"] = math.Abs(quiet.TrimDB)

	result["predicted trim, error: LU"] = math.Abs(solved.TrimDB - measuredTrim(t, mix, solved))
	return result
}
