package ogg_test

import (
	"fmt"
	"strings"

	"toneplumb/spectrum/audio/ogg"
)

// What is no sound is said; the path is added where the file was opened.
func Example() {
	_, err := ogg.Open(strings.NewReader(ogg.Mark+" and nothing more"), 0, 21)
	fmt.Println(err)
	// Output:
	// "" is an Ogg file with no sound in it that can be read
}
