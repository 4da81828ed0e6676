package serve

import (
	"bytes"
	"fmt"
	"math"
	"net/http"
	"os"
	"slices"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/document"
	"toneplumb/match/job"
	"toneplumb/match/words"
)

// Whatever changes the advice changes its key, or the page would show an old answer.
func TestAdviceKey(t *testing.T) {
	usual := func() *request { return &request{options: job.Options{Solve: match.DefaultSolve()}} }
	before := usual().adviceKey()
	changed := map[string]func(*match.SolveOptions){"stage": func(o *match.SolveOptions) { o.Stage = match.AsMeasured }}
	for _, n := range match.Numbers {
		changed[n.Flag] = func(o *match.SolveOptions) { *n.Of(o) = n.Least }
	}
	for name, change := range changed {
		a := usual()
		if change(&a.options.Solve); a.adviceKey() == before {
			t.Errorf("another %s has the same key", name)
		}
	}
}

// A trim that peaks lowered stays lowered on the page, as the command line has it, and the mix is
// not read again for it.
func TestTrimStaysLowered(t *testing.T) {
	v := enter(t)
	louder := biquad.Filter{Shape: biquad.LowShelf, FreqHz: 20000, GainDB: 11, Q: math.Sqrt2 / 2} // peaks near full scale
	mixWAV, refWAV := sound(t, 12, 1, append(faults[:2:2], louder)...), sound(t, 12, 2)
	mix, ref := v.drop("m.wav", mixWAV), v.drop("r.wav", refWAV)
	v.measured(mix)
	v.measured(ref)
	want, err := job.Reader{}.Match(t.Context(), job.MatchRequest{Options: job.DefaultOptions(), Mix: read(t, mixWAV), References: job.References(read(t, refWAV)), Confirm: true})
	if err != nil || want.TrimLoweredDB == 0 {
		t.Fatalf("the test's own mix does not peak: %+v, %v", want.Confirmed, err)
	}
	for _, path := range []string{"/confirm", "/result", "/confirm"} {
		var got resultAnswer
		if code := v.post(path, usual(mix, ref), &got); code != http.StatusOK {
			t.Fatalf("%s is answered with %d", path, code)
		}
		settings, err := document.ReadSettings(bytes.NewReader(got.Settings))
		if err != nil {
			t.Fatal(err)
		}
		if lowered := words.Findings(want.Warnings)[0]; settings.TrimDB != want.Settings().TrimDB || got.Words.Trim != fmt.Sprintf("%s dB", words.FormatGain(want.TrimDB)) || !slices.Contains(got.Words.Warnings, lowered) {
			t.Errorf("%s: a trim of %g dB, shown as %s, and %q; match has %g dB and %q", path, settings.TrimDB, got.Words.Trim, got.Words.Warnings, want.Settings().TrimDB, lowered)
		}
		if got.Confirmed == nil || !(got.Confirmed.TruePeak <= match.MostTruePeakDBTP) {
			t.Errorf("%s: confirmed %+v", path, got.Confirmed)
		}
		os.Remove(v.server.uploads.get(mix).path)
	}
}

// read measures a file as the command line does.
func read(t *testing.T, wav []byte) job.Input {
	t.Helper()
	in, err := job.Reader{}.Read(t.Context(), onDisk(t, wav))
	if err != nil {
		t.Fatal(err)
	}
	return in
}
