package job_test

import (
	"context"
	"errors"
	"fmt"
	"log"
	"math/rand/v2"
	"os"

	"toneplumb/biquad"
	"toneplumb/match/artefact"
	"toneplumb/match/job"
	"toneplumb/match/report"
	"toneplumb/spectrum/audio"
)

// writeNoise writes a minute of noise through filters.
func writeNoise(path string, seed uint64, filters ...biquad.Filter) {
	const rateHz = 44100
	sound := audio.NewBlock(1, 60*rateHz)
	rng := rand.New(rand.NewPCG(seed, 1))
	for i := range sound[0] {
		sound[0][i] = 0.1 * rng.NormFloat64()
	}
	biquad.NewCascade(filters, rateHz, 1).Run(sound)
	w, err := audio.CreateWAV(path, rateHz, 1, audio.PCM16)
	if err == nil {
		err = errors.Join(w.Write(sound), w.Close())
	}
	if err != nil {
		log.Fatal(err)
	}
}

// Open and measure two recordings, compare them, and write the moves and their chart.
func Example() {
	folder, err := os.MkdirTemp("", "example")
	if err != nil {
		log.Fatal(err)
	}
	defer os.RemoveAll(folder)
	ctx := context.Background()
	mix, reference := folder+"/mix.wav", folder+"/reference.wav"
	writeNoise(mix, 1, biquad.Filter{Shape: biquad.Bell, FreqHz: 400, GainDB: 6, Q: 0.7})
	writeNoise(reference, 2)

	var reader job.Reader
	inputs, err := reader.ReadAll(ctx, mix, reference)
	if err != nil {
		log.Fatal(err)
	}
	outcome, err := reader.Match(ctx, job.MatchRequest{
		Options: job.DefaultOptions(), Mix: inputs[0], References: job.References(inputs[1])})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(report.Headline(outcome.Result))

	chart, err := os.Create(folder + "/chart.png")
	if err != nil {
		log.Fatal(err)
	}
	defer chart.Close()
	form, _ := artefact.Match.For(chart.Name())
	if err := form.Write(ctx, chart, outcome, artefact.Style{}); err != nil {
		log.Fatal(err)
	}
	// Output: Cut around 400 Hz: 1.9 → 0.8 dB from the reference.
}
