package tracks_test

import (
	"fmt"

	"toneplumb/biquad"
	"toneplumb/match/tracks"
)

// How a track and a setting on it are called. [tracks.Advise] is the way to a plan.
func Example() {
	fmt.Println(tracks.NameOf("stems/lead vocal.wav"))
	fmt.Println(tracks.SettingWords(biquad.Filter{Shape: biquad.Bell, FreqHz: 250, GainDB: -3, Q: 1}))
	// Output:
	// lead vocal
	// bell 250 Hz −3.0 dB, Q 1.00
}
