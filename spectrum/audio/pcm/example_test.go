package pcm_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"log"
	"math"

	"toneplumb/spectrum/audio/pcm"
)

// Plain samples as another program hands them over.
func Example() {
	var floats bytes.Buffer
	for _, x := range []float32{0.25, -0.25, 0.5, -0.5} { // two frames of stereo
		binary.Write(&floats, binary.LittleEndian, math.Float32bits(x))
	}
	src := pcm.NewFloats(&floats, 48000, 2, 2)
	block := [][]float64{make([]float64, 8), make([]float64, 8)}
	n, err := src.Read(block)
	if err != nil && err != io.EOF {
		log.Fatal(err)
	}
	fmt.Println(n, block[0][:n], block[1][:n])
	// Output: 2 [0.25 0.5] [-0.25 -0.5]
}
