package spectrum

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The power of white noise in a bin, two channels summed, is the sum of two
// exponentials of mean m: E[x^(1/3)] = Γ(2+1/3)·m^(1/3), so that the cube is
// Γ(7/3)³/2 of the mean 2m (closed form: moments of the gamma distribution).
func TestSteadyDensityOfWhiteNoise(t *testing.T) {
	const rate, sec, sigma = 44100, 60, 0.1
	const toleranceDB = 0.1 // 360 moments × 256 bins, about 2/3 of them independent: 0.02 dB is one sd
	rng := rand.New(rand.NewPCG(11, 12))
	x := [][]float64{make([]float64, sec*rate), make([]float64, sec*rate)}
	for i := range x[0] {
		x[0][i], x[1][i] = sigma*rng.NormFloat64(), sigma*rng.NormFloat64()
	}
	gamma := math.Gamma(7.0 / 3)
	want := PowerToDB(2 * sigma * sigma / (rate / 2) * gamma * gamma * gamma / 2)
	mean := func() float64 {
		a, _ := analyse(rate, x, 4096)
		density, stepHz := a.SteadyDensity()
		if top := stepHz * float64(len(density)-1); math.Abs(top-rate/2) > 1e-6 {
			t.Fatalf("the steady density ends at %g Hz, want %d", top, rate/2)
		}
		total := 0.0
		for _, d := range density[1 : len(density)-1] {
			total += d
		}
		return PowerToDB(total / float64(len(density)-2))
	}
	if got := mean(); math.Abs(got-want) > toleranceDB {
		t.Errorf("white noise: %.3f dB, want %.3f ± %g", got, want, toleranceDB)
	}
	// Attacks of 10 ms, 30 dB louder, twice a second: the mean power rises by 13 dB.
	// Up to two moments' length of each half second touch one: 4.4 %, which a factor
	// of 10 in the cube root raises by at most 3·10·log10(1+0.044·9).
	const mostDB = 4.4
	for at := 0; at < len(x[0]); at += rate / 2 {
		for i := at; i < min(at+rate/100, len(x[0])); i++ {
			x[0][i] *= 31.6
			x[1][i] *= 31.6
		}
	}
	if got := mean(); got-want > mostDB || got < want {
		t.Errorf("with attacks: %.2f dB over the noise, want 0 to %g", got-want, mostDB)
	}
}

func TestSteadyDensityOfNothing(t *testing.T) {
	density, stepHz := NewAnalyser(48000, 2, func(int, *Bands) {}).SteadyDensity()
	if stepHz <= 0 {
		t.Errorf("step of %g Hz", stepHz)
	}
	for k, d := range density {
		if d != 0 {
			t.Errorf("bin %d without a window: %g", k, d)
		}
	}
}
