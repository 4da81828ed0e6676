package parallel_test

import (
	"context"
	"fmt"

	"toneplumb/spectrum/parallel"
)

// Each task writes into its own place.
func Example() {
	squares := make([]int, 5)
	err := parallel.Each(context.Background(), 2, len(squares), func(_ context.Context, i int) error {
		squares[i] = i * i
		return nil
	})
	fmt.Println(squares, err)
	// Output: [0 1 4 9 16] <nil>
}
