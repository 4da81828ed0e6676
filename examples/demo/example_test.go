package demo_test

import (
	"fmt"

	"toneplumb/examples/demo"
)

// The two pieces of the demo.
func Example() {
	for _, p := range []*demo.Piece{demo.RoughMix(), demo.Finished()} {
		fmt.Printf("%s, %d s, %d tracks\n", p.FileName, p.Frames()/demo.RateHz, len(p.Tracks()))
	}
	// Output:
	// evening-class-rough-mix.wav, 80 s, 5 tracks
	// ottermill-five-finished.wav, 78 s, 5 tracks
}
