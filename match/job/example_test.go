package job_test

import (
	"context"
	"fmt"
	"log"
	"os"

	"toneplumb/examples/demo"
	"toneplumb/match/artefact"
	"toneplumb/match/job"
	"toneplumb/match/report"
)

// Open and measure two recordings, compare them, and write the moves and their chart.
func Example() {
	folder, err := os.MkdirTemp("", "example")
	if err != nil {
		log.Fatal(err)
	}
	defer os.RemoveAll(folder)
	ctx := context.Background()
	mix, reference, err := demo.Write(ctx, folder, nil)
	if err != nil {
		log.Fatal(err)
	}

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
	// Output: Cut around 400 Hz, 750 Hz and 3.55 kHz, lift around 67 Hz: 2.8 → 1.6 dB from the reference.
}
