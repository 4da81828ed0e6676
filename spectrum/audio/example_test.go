package audio_test

import (
	"context"
	"fmt"
	"io"
	"log"
	"math"
	"os"
	"path/filepath"

	"toneplumb/spectrum/audio"
)

// Write a recording and read it back in blocks.
func Example() {
	dir, err := os.MkdirTemp("", "audio")
	if err != nil {
		log.Fatal(err)
	}
	defer os.RemoveAll(dir)
	path := filepath.Join(dir, "tone.wav")

	w, err := audio.CreateWAV(path, 48000, 2, audio.PCM24)
	if err != nil {
		log.Fatal(err)
	}
	defer w.Abort() // does nothing after Close
	block := audio.NewBlock(2, 48000)
	for i := range block[0] {
		block[0][i] = 0.5 * math.Sin(2*math.Pi*440*float64(i)/48000)
	}
	if err := w.Write(block); err != nil {
		log.Fatal(err)
	}
	if err := w.Close(); err != nil {
		log.Fatal(err)
	}

	src, err := audio.Open(context.Background(), path)
	if err != nil {
		log.Fatal(err)
	}
	defer src.Close()
	f := src.Format()
	peak, frames := 0.0, 0
	for {
		n, err := src.Read(block)
		if err == io.EOF {
			break
		}
		if err != nil {
			log.Fatal(err)
		}
		for _, x := range block[0][:n] {
			peak = max(peak, math.Abs(x))
		}
		frames += n
	}
	fmt.Println(f.Container, f.Encoding, f.RateHz, f.Channels, f.Frames, frames, len(src.Warnings()))
	fmt.Printf("%.3f\n", peak)
	// Output:
	// WAV 24-bit PCM 48000 2 48000 48000 0
	// 0.500
}
