package multitrack_test

import (
	"fmt"

	"toneplumb/spectrum"
	"toneplumb/spectrum/measure/multitrack"
)

// The seconds of a table are kept in thirds of an octave.
func Example() {
	from, to := multitrack.ThirdBands(17)
	fmt.Printf("%d thirds of an octave; number 17 from %.0f to %.0f Hz\n", multitrack.Thirds, spectrum.EdgeHz(from), spectrum.EdgeHz(to))
	// Output:
	// 31 thirds of an octave; number 17 from 891 to 1122 Hz
}
