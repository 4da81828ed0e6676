package probe_test

import (
	"fmt"

	"toneplumb/match/probe"
)

// What is to be printed of an equaliser, and how a print is called.
func Example() {
	first := probe.Plan()[0]
	fmt.Println(first.Number, first.Flat, len(probe.Plan()))
	fmt.Println(probe.NumberOf("prints/print-07.wav"))
	// Output:
	// 1 true 13
	// 7
}
