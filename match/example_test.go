package match_test

import (
	"context"
	"fmt"
	"io"
	"log"
	"math/rand/v2"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/words"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

const rateHz = 44100

// hiss is a minute of falling noise through filters, read from memory.
type hiss struct {
	sound [][]float64
	at    int
}

func newHiss(filters ...biquad.Filter) *hiss {
	h := &hiss{sound: audio.NewBlock(1, 60*rateHz)}
	rng := rand.New(rand.NewPCG(1, 2))
	level := 0.0
	for i := range h.sound[0] {
		level += (rng.Float64() - 0.5 - level) / 8
		h.sound[0][i] = level
	}
	biquad.NewCascade(filters, rateHz, 1).Run(h.sound)
	return h
}

func (h *hiss) Format() audio.Format     { return audio.Format{RateHz: rateHz, Channels: 1, Frames: -1} }
func (h *hiss) Warnings() []audio.Remark { return nil }
func (h *hiss) Close() error             { return nil }

func (h *hiss) Read(dst [][]float64) (int, error) {
	n := copy(dst[0], h.sound[0][h.at:])
	if n == 0 {
		return 0, io.EOF
	}
	h.at += n
	return n, nil
}

// The path most callers need: measure the recordings, compare them, solve for the moves.
// Any [audio.Source] will do, that of audio.Open first.
func Example() {
	ctx := context.Background()
	dull := biquad.Filter{Shape: biquad.Bell, FreqHz: 2500, GainDB: -4, Q: 0.7}
	mix, err := measure.Measure(ctx, newHiss(dull), "mix.wav")
	if err != nil {
		log.Fatal(err)
	}
	reference, err := measure.Measure(ctx, newHiss(), "reference.wav")
	if err != nil {
		log.Fatal(err)
	}
	comparison, err := match.Compare(mix, []*measure.Recording{reference}, match.DefaultCompare())
	if err != nil {
		log.Fatal(err)
	}
	result := comparison.Solve(match.DefaultSolve())
	for _, m := range result.Moves {
		fmt.Printf("%s %s %s dB, Q %.1f: %s\n", words.Shape(m.Shape), words.FormatHz(m.FreqHz), words.FormatGain(m.GainDB), m.Q, words.Why(m))
	}
	for _, f := range result.Warnings {
		fmt.Printf("%s, %s: %s\n", f.Severity(), f.Code(), words.Finding(f))
	}
	// Output:
	// bell 2.5 kHz +2.5 dB, Q 0.7: 2.1 dB under the reference around 2.5 kHz
	// caution, voice-moves: Move 1 works where voices are: if there is one, set its level first.
}
