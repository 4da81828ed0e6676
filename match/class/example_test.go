package class_test

import (
	"fmt"

	"toneplumb/match/class"
)

// Pages of mixes are named after their files, each name once.
func Example() {
	fmt.Println(class.PageNames([]string{"anna.wav", "home/anna.flac", "ben.mp3"}, ".pdf"))
	// Output:
	// [anna.pdf home-anna.pdf ben.pdf]
}
