package masking_test

import (
	"fmt"

	"toneplumb/spectrum"
	"toneplumb/spectrum/masking"
)

// Twice the power everywhere is a change of 3 dB. At 1 kHz the critical-band rate is 8.5 Bark
// (E. Zwicker and H. Fastl, Psychoacoustics, table 6.1, from memory).
func Example() {
	pink := make([]float64, spectrum.BandCount) // equal power in bands of equal ratio
	louder := make([]float64, spectrum.BandCount)
	for b := range pink {
		pink[b], louder[b] = 1, 2
	}
	fmt.Printf("%.2f dB\n", masking.New(pink).ChangeDB(louder))
	fmt.Printf("%.1f Bark\n", masking.Bark(1000))
	// Output:
	// 3.01 dB
	// 8.5 Bark
}
