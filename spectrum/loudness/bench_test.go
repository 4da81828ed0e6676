package loudness

import (
	"math"
	"math/rand/v2"
	"testing"
)

// musicLike returns stereo noise that falls by about 3 dB per octave, swells by 12 dB
// twice a second and peaks near full scale.
func musicLike(frames int) [][]float64 {
	random := rand.New(rand.NewPCG(7, 8))
	x := [][]float64{make([]float64, frames), make([]float64, frames)}
	for _, y := range x {
		// One-pole low-passes a decade or less apart, of equal power each.
		poles := []float64{0.997, 0.97, 0.8, 0.2}
		state := make([]float64, len(poles))
		for i := range y {
			sum := 0.0
			for p, pole := range poles {
				state[p] = pole*state[p] + math.Sqrt(1-pole*pole)*random.NormFloat64()
				sum += state[p]
			}
			beat := math.Exp(-math.Mod(float64(i)/22050, 1) * math.Ln2 * 2)
			y[i] = 0.1 * beat * sum
		}
	}
	return x
}

// limited returns the same, 9 dB louder and clipped at ±0.98, where it often stays.
func limited(frames int) [][]float64 {
	x := musicLike(frames)
	for _, y := range x {
		for i := range y {
			y[i] = max(-0.98, min(0.98, 2.8*y[i]))
		}
	}
	return x
}

const benchSeconds = 10 // of stereo at 44.1 kHz

func BenchmarkMeter(b *testing.B) {
	x := musicLike(benchSeconds * 44100)
	m := NewMeter(44100, 2)
	b.SetBytes(benchSeconds * 2 * 2 * 44100) // as 16-bit WAV
	b.ReportAllocs()
	for b.Loop() {
		m.Add(x)
	}
}

func BenchmarkPeakMeter(b *testing.B) {
	frames := benchSeconds * 44100
	white := musicLike(frames) // nothing can be left out
	random := rand.New(rand.NewPCG(9, 10))
	for c := range white {
		for i := range white[c] {
			white[c][i] = float64(1 - 2*random.IntN(2))
		}
	}
	for _, c := range []struct {
		name string
		x    [][]float64
	}{{"musicLike", musicLike(frames)}, {"limited", limited(frames)}, {"signs", white}} {
		b.Run(c.name, func(b *testing.B) {
			b.SetBytes(benchSeconds * 2 * 2 * 44100)
			b.ReportAllocs()
			for b.Loop() {
				m := NewPeakMeter(44100, 2)
				m.Add(c.x)
				m.TruePeak()
			}
		})
	}
}
