package flac_test

import (
	"bytes"
	"fmt"
	"log"

	"toneplumb/spectrum/audio/flac"
)

// Sound is written and read back.
func Example() {
	var file bytes.Buffer
	tone := [][]float64{make([]float64, 4096)}
	for i := range tone[0] {
		tone[0][i] = 0.5
	}
	if err := flac.Write(&file, 44100, tone, 1); err != nil {
		log.Fatal(err)
	}
	d, err := flac.Open(bytes.NewReader(file.Bytes()), 0, int64(file.Len()))
	if err != nil {
		log.Fatal(err)
	}
	block := [][]float64{make([]float64, 1000)}
	n, err := d.Read(block)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%d frames at %d Hz, %.2f\n", n, d.Format().RateHz, block[0][0])
	// Output: 1000 frames at 44100 Hz, 0.50
}
