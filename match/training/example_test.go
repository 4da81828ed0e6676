package training_test

import (
	"fmt"

	"toneplumb/biquad"
	"toneplumb/match/training"
	"toneplumb/match/words"
)

// An answer is marked by its curve.
func Example() {
	hidden := []biquad.Filter{{Shape: biquad.Bell, FreqHz: 1000, GainDB: 6, Q: 1}}
	heard := []biquad.Filter{{Shape: biquad.Bell, FreqHz: 1200, GainDB: 5, Q: 1}}
	mark := training.MarkAnswer(hidden, heard, 48000)
	fmt.Println(len(mark.Found), len(mark.Missed), len(mark.Invented))
	fmt.Println(words.Mark(mark))
	// Output:
	// 1 0 0
	// found bell 1 kHz +6.0 dB Q 1, heard as bell 1.2 kHz +5.0 dB Q 1
}
