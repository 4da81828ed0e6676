package align_test

import (
	"fmt"

	"toneplumb/spectrum/align"
)

// Of two copies of one song only the seconds count that count in both.
func Example() {
	mix, reference := align.GateTogether([]float64{1, 1, 0, 1}, []float64{1, 0, 1, 1}, 0)
	fmt.Println(mix, reference)
	// Output: [1 0 0 1] [1 0 0 1]
}
