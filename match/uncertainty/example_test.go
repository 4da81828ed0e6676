package uncertainty_test

import (
	"fmt"

	"gonum.org/v1/gonum/mat"

	"toneplumb/match/uncertainty"
)

// Level is ignored in every curve: its mean is taken off.
func Example() {
	curve := mat.NewVecDense(3, []float64{1, 2, 6})
	uncertainty.Centre(curve)
	fmt.Println(curve.RawVector().Data)
	// Output: [-2 -1 3]
}
