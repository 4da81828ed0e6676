package memory_test

import (
	"fmt"

	"toneplumb/spectrum/memory"
)

// A second of silence, read as a file would be.
func Example() {
	sound := &memory.Sound{RateHz: 48000, X: [][]float64{make([]float64, 48000)}}
	block := [][]float64{make([]float64, 32000)}
	for {
		n, err := sound.Read(block)
		fmt.Println(n, err)
		if err != nil {
			break
		}
	}
	// Output:
	// 32000 <nil>
	// 16000 <nil>
	// 0 EOF
}
