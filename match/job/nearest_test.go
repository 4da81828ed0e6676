package job

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/document"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/profile"
	"toneplumb/spectrum/memory"
)

const rate = 44100

// stereoNoise is 20 s of noise, its sides much alike.
func stereoNoise(seed uint64) [][]float64 {
	x, rng := audio.NewBlock(2, 20*rate), rand.New(rand.NewPCG(seed, 1))
	for i := range x[0] {
		both := rng.NormFloat64()
		x[0][i], x[1][i] = 0.05*(both+0.3*rng.NormFloat64()), 0.05*(both+0.3*rng.NormFloat64())
	}
	return x
}

// noise is a recording of noise through moves, measured.
func noise(t *testing.T, seed uint64, moves ...biquad.Filter) Input {
	t.Helper()
	x := stereoNoise(seed)
	biquad.NewCascade(moves, rate, 2).Run(x)
	r, err := measure.Measure(t.Context(), &memory.Sound{RateHz: rate, X: x}, "noise.wav")
	if err != nil {
		t.Fatal(err)
	}
	return Input{Path: "noise.wav", Entries: profile.Profile{{Recording: r}}}
}

// A mix that runs through the moves of an earlier round is ranked without them.
func TestNearestWithoutPrevious(t *testing.T) {
	moves := []biquad.Filter{{Shape: biquad.Bell, FreqHz: 1000, GainDB: 6, Q: 0.7}}
	dry, bounced, like := noise(t, 1), noise(t, 1, moves...), []Input{noise(t, 2), noise(t, 3, moves...)}
	o := DefaultOptions()
	want, err := Nearest(t.Context(), o, dry, like)
	if err != nil {
		t.Fatal(err)
	}
	o.Previous = &match.PreviousRound{Settings: &document.Settings{RateHz: rate, Moves: moves}}
	got, err := Nearest(t.Context(), o, bounced, like)
	if err != nil {
		t.Fatal(err)
	}
	if has := func(o *NearestOutcome) bool {
		return slices.ContainsFunc(o.Warnings, func(f finding.Finding) bool { return f.Code() == "previous-moves" })
	}; has(want) || !has(got) {
		t.Errorf("warnings %v; without the moves %v", got.Warnings, want.Warnings)
	}
	const nearDB = 0.05 // the table's bands instead of the sound
	for i, r := range got.Ranked {
		if w := want.Ranked[i]; r.Index != w.Index || math.Abs(r.DistanceDB-w.DistanceDB) > nearDB {
			t.Errorf("place %d: reference %d, %.2f dB; without the moves %d, %.2f dB", i+1, r.Index, r.DistanceDB, w.Index, w.DistanceDB)
		}
	}
}
