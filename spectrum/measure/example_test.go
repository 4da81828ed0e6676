package measure_test

import (
	"context"
	"fmt"
	"log"
	"math"
	"os"
	"path/filepath"

	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// Open and measure a recording, and compute its mean spectrum over the time that passes the loudness gate. Both channels
// at 0.1 make −20 dB; the window in which the silence begins costs 0.2 dB.
func Example() {
	dir, err := os.MkdirTemp("", "measure")
	if err != nil {
		log.Fatal(err)
	}
	defer os.RemoveAll(dir)
	path := filepath.Join(dir, "tone.wav")
	write(path)

	ctx := context.Background()
	src, err := audio.Open(ctx, path)
	if err != nil {
		log.Fatal(err)
	}
	defer src.Close()
	r, err := measure.Measure(ctx, src, path)
	if err != nil {
		log.Fatal(err)
	}
	mean := r.MeanPower(r.GateWeights())
	loudest := 0
	for band, p := range mean {
		if p > mean[loudest] {
			loudest = band
		}
	}
	fmt.Printf("%s: %.0f s, %d rows, %.1f LUFS\n", r.Name, r.DurationSec, r.Rows, r.LoudnessLUFS)
	fmt.Printf("%.0f Hz: %.1f dB\n", spectrum.CentreHz(loudest), spectrum.PowerToDB(mean[loudest]))
	// Output:
	// tone.wav: 10 s, 10 rows, -19.8 LUFS
	// 1138 Hz: -20.2 dB
}

// write writes ten seconds with a tone on both channels in the first five.
func write(path string) {
	const rateHz = 48000
	toneHz := spectrum.CentreHz(140)
	w, err := audio.CreateWAV(path, rateHz, 2, audio.PCM24)
	if err != nil {
		log.Fatal(err)
	}
	defer w.Abort()
	block := audio.NewBlock(2, 10*rateHz)
	for i := range 5 * rateHz {
		x := 0.1 * math.Sin(2*math.Pi*toneHz*float64(i)/rateHz)
		block[0][i], block[1][i] = x, x
	}
	if err := w.Write(block); err != nil {
		log.Fatal(err)
	}
	if err := w.Close(); err != nil {
		log.Fatal(err)
	}
}
