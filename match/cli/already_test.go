package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match/document"
	"toneplumb/match/report"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/testkit"
)

// synthesised writes so many seconds of falling noise in phrases, through filters.
func synthesised(t *testing.T, path string, seconds int, seed uint64, filters ...biquad.Filter) {
	t.Helper()
	const rate = 44100
	w, err := audio.CreateWAV(path, rate, 2, audio.PCM24)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(seed, 7))
	fall := biquad.NewCascade(append([]biquad.Filter{{Shape: biquad.HighCut, FreqHz: 300, CutDBPerOct: 6}}, filters...), rate, 2)
	block := audio.NewBlock(2, rate/4)
	for range seconds * 4 {
		phrase := 0.1 * (0.3 + 0.7*rng.Float64())
		for i := range block[0] {
			both := rng.NormFloat64()
			block[0][i] = phrase * (both + 0.3*rng.NormFloat64())
			block[1][i] = phrase * (both + 0.3*rng.NormFloat64())
		}
		fall.Run(block)
		if err := w.Write(block); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
}

// round is what one run of match gave.
type round struct {
	*document.Settings
	before, after float64 // distances
	warnings      []report.Warning
	document      []byte
}

func runRound(t *testing.T, args ...string) round {
	t.Helper()
	var stdout, stderr bytes.Buffer
	if code := Run(context.Background(), append([]string{"match", "--json", "--toward", "100"}, args...), strings.NewReader(""), &stdout, &stderr); code != exitDone {
		t.Fatalf("exit code %d: %s", code, &stderr)
	}
	var d struct {
		Before   float64          `json:"distance_before_db"`
		After    float64          `json:"distance_after_db"`
		Warnings []report.Warning `json:"warnings"`
	}
	if err := json.Unmarshal(stdout.Bytes(), &d); err != nil {
		t.Fatal(err)
	}
	s, err := document.ReadSettings(bytes.NewReader(stdout.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	return round{s, d.Before, d.After, d.Warnings, stdout.Bytes()}
}

// A bounce through the moves of a first round, matched again with them named, gives
// the moves of one round: they replace the first, and do not stack on it.
func TestAlready(t *testing.T) {
	testkit.Skip(t, "five rounds of matching")
	dir := t.TempDir()
	in := func(name string) string { return filepath.Join(dir, name) }
	const (
		stepDB   = 0.5  // of the dials
		stepOct  = 0.09 // a step of R40 is a twelfth of an octave
		stepQ    = 0.1
		trimDB   = 0.1
		distance = 0.05
	)
	synthesised(t, in("mix.wav"), 70, 1)
	synthesised(t, in("ref.wav"), 70, 2,
		biquad.Filter{Shape: biquad.HighShelf, FreqHz: 4000, GainDB: 4, Q: 0.7}, biquad.Filter{Shape: biquad.Bell, FreqHz: 250, GainDB: -4, Q: 0.9})
	first := runRound(t, in("mix.wav"), in("ref.wav"), "-o", in("first.json"))
	if len(first.Moves) < 2 {
		t.Fatalf("the first round has moves %+v, want two", first.Moves)
	}

	synthesised(t, in("bounce.wav"), 70, 1, first.Moves...)
	second := runRound(t, in("bounce.wav"), in("ref.wav"), "--already", in("first.json"))
	if len(second.Moves) != len(first.Moves) {
		t.Fatalf("the second round has moves %+v, one round %+v", second.Moves, first.Moves)
	}
	for i, m := range second.Moves {
		f := first.Moves[i]
		if m.Shape != f.Shape || math.Abs(m.GainDB-f.GainDB) > stepDB+1e-6 || math.Abs(math.Log2(m.FreqHz/f.FreqHz)) > stepOct || math.Abs(m.Q-f.Q) > stepQ+1e-6 {
			t.Errorf("move %d: %+v, in one round %+v", i+1, m, f)
		}
	}
	if math.Abs(second.TrimDB-first.TrimDB) > trimDB+1e-6 || math.Abs(second.before-first.before) > distance {
		t.Errorf("trim %.2f, distance before %.3f; in one round %.2f, %.3f", second.TrimDB, second.before, first.TrimDB, first.before)
	}
	if len(second.warnings) == 0 || second.warnings[0].Code != "previous-moves" {
		t.Errorf("warnings %+v", second.warnings)
	}
	// Without --already little is left to do.
	plain := runRound(t, in("bounce.wav"), in("ref.wav"))
	if plain.before > 0.5*first.before || math.Abs(plain.before-first.after) > distance {
		t.Errorf("the bounce is %.3f dB away, and the first round promised %.3f of %.3f", plain.before, first.after, first.before)
	}
}
