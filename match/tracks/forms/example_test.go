package forms_test

import (
	"math"
	"os"

	"toneplumb/match/tracks"
	"toneplumb/match/tracks/forms"
)

// Advice in CSV: a row for each track that was given, and one for what no track holds.
func Example() {
	a := &tracks.Advice{Tracks: []tracks.Track{{Name: "bass", LoudnessLUFS: -19.52}, {Name: "guide", State: tracks.Silent, LoudnessLUFS: math.Inf(-1)}}}
	if err := forms.CSV(os.Stdout, a); err != nil {
		panic(err)
	}
	// Output:
	// track,state,loudness_lufs
	// bass,heard,-19.52
	// guide,silent,
	// ,no track,
}
