package words_test

import (
	"fmt"

	"toneplumb/match"
	"toneplumb/match/words"
)

// A finding and figures in words.
func Example() {
	fmt.Println(words.Finding(match.Swapped{LU: 5.2, References: 1}))
	fmt.Println(words.FormatHz(1234), words.FormatGain(-2.5), words.List([]string{"lows", "mids", "air"}))
	// Output:
	// The mix is 5.2 LU louder than the reference: are the two swapped?
	// 1.23 kHz −2.5 lows, mids and air
}
