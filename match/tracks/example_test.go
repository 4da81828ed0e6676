package tracks_test

import (
	"fmt"

	"toneplumb/match/tracks"
)

// How a track is called. [tracks.Advise] is the way to a plan.
func Example() {
	fmt.Println(tracks.NameOf("stems/lead vocal.wav"))
	// Output:
	// lead vocal
}
