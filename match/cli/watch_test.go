package cli

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"toneplumb/biquad"
	"toneplumb/match/cli/internal/flags"
	"toneplumb/match/job"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/testkit"
)

// heard is a buffer that may be looked into while it is written.
type heard struct {
	lock sync.Mutex
	bytes.Buffer
}

func (h *heard) Write(p []byte) (int, error) {
	h.lock.Lock()
	defer h.lock.Unlock()
	return h.Buffer.Write(p)
}

func (h *heard) String() string {
	h.lock.Lock()
	defer h.lock.Unlock()
	return h.Buffer.String()
}

// await waits until something is said; count tells how often.
func await(t *testing.T, what string, of *heard, count int) {
	t.Helper()
	const most = time.Minute // a loaded machine
	for end := time.Now().Add(most); time.Now().Before(end); time.Sleep(10 * time.Millisecond) {
		if strings.Count(of.String(), what) >= count {
			return
		}
	}
	t.Fatalf("%q was not said %d times:\n%s", what, count, of.String())
}

// A mix is bounced again and again: slowly, cut short, as text, unchanged, deleted and
// made anew; each that is complete is measured once, and the advice of one round is
// what the next was bounced through.
func TestWatch(t *testing.T) {
	testkit.Skip(t, "waits for bounces")
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	dull := biquad.Filter{Shape: biquad.HighShelf, FreqHz: 4000, GainDB: -5, Q: 0.7}
	synthesised(t, at("ref.wav"), 70, 1)
	synthesised(t, at("first.wav"), 70, 1, dull)
	o := matchCommand{Job: flags.UsualJob(), mix: at("mix.wav"), references: []string{at("ref.wav")}, watch: true,
		output: flags.Output{Files: []string{at("settings.json"), at("table.txt")}}}
	o.Already, o.Solve.TowardPercent = at("settings.json"), 100
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	var stdout, stderr heard
	ended := make(chan error, 1)
	go func() {
		ended <- runWatch(ctx, o, pollInterval{20 * time.Millisecond, 200 * time.Millisecond, 300 * time.Millisecond}, &stdout, &stderr)
	}()
	put := func(content []byte) {
		t.Helper()
		if err := os.WriteFile(o.mix, content, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	sound := func(name string) []byte {
		t.Helper()
		content, err := os.ReadFile(at(name))
		if err != nil {
			t.Fatal(err)
		}
		return content
	}
	await(t, "waiting for mix.wav", &stderr, 1)

	// Half of it stands still for long; then the rest comes in steps.
	first := sound("first.wav")
	put(first[:len(first)/2])
	await(t, "waiting for the rest of the bounce: 0:34 of 1:10 are there", &stderr, 1)
	file, err := os.OpenFile(o.mix, os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	for rest := first[len(first)/2:]; len(rest) > 0; time.Sleep(50 * time.Millisecond) {
		n := min(len(rest), len(first)/8)
		if _, err := file.Write(rest[:n]); err != nil {
			t.Fatal(err)
		}
		rest = rest[n:]
	}
	file.Close()
	await(t, "  with the moves\n", &stdout, 1)
	await(t, "waiting for the next bounce", &stderr, 1)
	if strings.Contains(stdout.String(), "as bounced through") {
		t.Error("the first bounce ran through nothing")
	}

	// The same sound again is no new bounce.
	put(first)
	await(t, "the same sound as before", &stderr, 1)

	// A letter is told of, and told again while it stays.
	put([]byte("a letter, not a recording"))
	await(t, "is a text file", &stderr, 2)

	// Deleted, and made anew through the moves of the first round.
	if err := os.Remove(o.mix); err != nil {
		t.Fatal(err)
	}
	await(t, "waiting for mix.wav", &stderr, 2)
	settings, err := job.ReadSettings(at("settings.json"), nil)
	if err != nil {
		t.Fatal(err)
	}
	synthesised(t, at("second.wav"), 70, 1, append([]biquad.Filter{dull}, settings.Moves...)...)
	put(sound("second.wav"))
	await(t, "  with the moves\n", &stdout, 2)
	await(t, "waiting for the next bounce", &stderr, 2)

	cancel()
	if err := <-ended; err != nil {
		t.Errorf("ended with %v", err)
	}
	text := stdout.String()
	if !strings.Contains(text, "Taken as bounced through the moves of settings.json") {
		t.Errorf("the second round does not know of the first:\n%s", text)
	}
	rounds := regexp.MustCompile(`(?m)^ +1  [0-9:]{8} +([0-9.]+) dB .*\n +2  [0-9:]{8} +([0-9.]+) dB +[0-9.]+ dB  nearer$`)
	if !rounds.MatchString(text) {
		t.Errorf("no history of two rounds, the second nearer:\n%s", text)
	}
	left, err := filepath.Glob(filepath.Join(dir, ".*"))
	if err != nil || len(left) > 0 {
		t.Errorf("left behind: %v (%v)", left, err)
	}
	if _, err := os.Stat(at("table.txt")); err != nil {
		t.Error(err)
	}
}

// A channel with its polarity turned is another sound, though no band's power tells.
func TestSameSound(t *testing.T) {
	dir := t.TempDir()
	bounce := func(name string, right float64) string {
		t.Helper()
		path := filepath.Join(dir, name)
		src, err := audio.Open(context.Background(), filepath.Join(dir, "mix.wav"))
		if err != nil {
			t.Fatal(err)
		}
		defer src.Close()
		block := audio.NewBlock(2, int(src.Format().Frames))
		n, err := src.Read(block)
		if err != nil || n < len(block[0]) {
			t.Fatalf("%d frames, %v", n, err)
		}
		for i := range block[1] {
			block[1][i] *= right
		}
		w, err := audio.CreateWAV(path, src.Format().RateHz, 2, audio.PCM24)
		if err != nil {
			t.Fatal(err)
		}
		if err := w.Write(block); err != nil {
			t.Fatal(err)
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		return path
	}
	synthesised(t, filepath.Join(dir, "mix.wav"), 6, 1)
	mix := measured(t, filepath.Join(dir, "mix.wav"))
	if again := measured(t, bounce("again.wav", 1)); !sameSound(mix, again) {
		t.Error("a copy is another sound")
	}
	turned := measured(t, bounce("turned.wav", -1))
	turned.Power, turned.StepPower = slices.Clone(mix.Power), mix.StepPower // as they are but for rounding
	if sameSound(mix, turned) {
		t.Error("the right channel's polarity was turned, and it is the same sound")
	}
	softer := measured(t, bounce("softer.wav", 0.5))
	softer.Power, softer.Width = mix.Power, mix.Width
	if sameSound(mix, softer) {
		t.Error("another loudness, and it is the same sound")
	}
}
