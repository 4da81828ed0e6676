package spectrum

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// analyse feeds x in blocks of the given size and collects the windows.
func analyse(rateHz float64, x [][]float64, blockFrames int) (*Analyser, []Bands) {
	var windows []Bands
	a := NewAnalyser(rateHz, len(x), func(_ int, b *Bands) { windows = append(windows, *b) })
	for at := 0; at < len(x[0]); at += blockFrames {
		block := make([][]float64, len(x))
		for c := range x {
			block[c] = x[c][at:min(at+blockFrames, len(x[c]))]
		}
		a.Add(block)
	}
	return a, windows
}

// sum returns the power of the mean window, summed over the bands from low to high Hz.
func sum(windows []Bands, of func(*Bands) *[BandCount]float64, lowHz, highHz float64) float64 {
	total := 0.0
	for i := range windows {
		for b, p := range of(&windows[i]) {
			if EdgeHz(b) >= lowHz && EdgeHz(b+1) <= highHz {
				total += p
			}
		}
	}
	return total / float64(len(windows))
}

func power(b *Bands) *[BandCount]float64 { return &b.Power }
func cross(b *Bands) *[BandCount]float64 { return &b.Cross }

// Exact centres of IEC 61260-1: third-octave bands at nominal 20 and 31.5 Hz
// have 19.953 and 31.623 Hz; the octave band at 1 kHz reaches from 707.946 to
// 1412.538 Hz (public summaries of the standard).
func TestBandEdges(t *testing.T) {
	const tolerance = 0.0005                            // of the printed digits
	third := func(n int) int { return 8*n - firstBand } // index of the centre edge of third-octave band n
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"20 Hz third-octave centre", EdgeHz(third(-17)), 19.953},
		{"31.5 Hz third-octave centre", EdgeHz(third(-15)), 31.623},
		{"20 Hz third-octave upper edge", EdgeHz(third(-17) + 4), 22.387},
		{"1 kHz octave lower edge", EdgeHz(third(0) - 12), 707.946},
		{"1 kHz octave upper edge", EdgeHz(third(0) + 12), 1412.538},
		{"lowest edge", EdgeHz(0), 19.953},
		{"highest edge", EdgeHz(BandCount) / 1000, 19.953},
	} {
		if math.Abs(c.got-c.want) > tolerance {
			t.Errorf("%s: got %.4f, want %.4f", c.name, c.got, c.want)
		}
	}
	for b := range BandCount {
		if got, want := CentreHz(b), math.Sqrt(EdgeHz(b)*EdgeHz(b+1)); math.Abs(got/want-1) > 1e-13 {
			t.Errorf("band %d: centre %g, mean of edges %g", b, got, want)
		}
	}
}

// A sine of amplitude A has mean power A²/2 (closed form), wherever it falls
// between bins, at every rate; left and right with a phase shift φ have
// Re⟨L·R*⟩ = A_L·A_R·cos(φ)/2.
func TestSinePower(t *testing.T) {
	const toleranceDB = 0.01 // Hann side lobes outside the summed bands
	for _, rate := range []float64{8000, 11025, 44100, 48000, 96000, 192000} {
		for _, hz := range []float64{100, 997, 3001.5} {
			n := int(4 * rate)
			l, r := make([]float64, n), make([]float64, n)
			for i := range l {
				w := 2 * math.Pi * hz * float64(i) / rate
				l[i], r[i] = 0.5*math.Sin(w), 0.25*math.Sin(w+math.Pi/3)
			}
			_, stereo := analyse(rate, [][]float64{l, r}, 1024)
			_, mono := analyse(rate, [][]float64{l}, 1024)
			if len(stereo) != 23 { // starts at 0, 1/6 … 22/6 s
				t.Fatalf("%g Hz rate: %d windows in 4 s, want 23", rate, len(stereo))
			}
			for _, c := range []struct {
				name      string
				got, want float64
			}{
				{"power", sum(stereo, power, 20, 4000), (0.25 + 0.0625) / 2},
				{"cross", sum(stereo, cross, 20, 4000), 0.5 * 0.25 * 0.5 / 2},
				{"mono power", sum(mono, power, 20, 4000), 0.125},
				{"mono cross", sum(mono, cross, 20, 4000), 0.0625},
			} {
				if db := PowerToDB(c.got / c.want); !(math.Abs(db) < toleranceDB) {
					t.Errorf("%g Hz at rate %g, %s: %g, want %g (%.4f dB)", hz, rate, c.name, c.got, c.want, db)
				}
			}
		}
	}
}

// Equal channels have no side, opposite ones no mid, also beside a steady tone in the sub, where the
// cubic between bins dips below 0: |L ∓ R|² = |L|² + |R|² ∓ 2Re(L·R*) is 0 (closed form).
func TestEqualChannelsHaveNoSide(t *testing.T) {
	const rate, tolerance = 48000.0, 1e-12 // rounding of a transform
	tone, opposite := make([]float64, 4*rate), make([]float64, 4*rate)
	for i := range tone {
		tone[i] = 0.5 * math.Sin(2*math.Pi*41.2*float64(i)/rate)
		opposite[i] = -tone[i]
	}
	for _, c := range []struct {
		name  string
		right []float64
		sign  float64
	}{{"equal", tone, 1}, {"opposite", opposite, -1}} {
		_, windows := analyse(rate, [][]float64{tone, c.right}, 1024)
		for k, w := range windows {
			for b, p := range w.Power {
				if left := p - c.sign*2*w.Cross[b]; math.Abs(left) > tolerance*p {
					t.Fatalf("%s channels, window %d, band %d: %g is left of %g", c.name, k, b, left, p)
				}
			}
		}
	}
}

// White noise has a flat density (0 dB/octave), so constant-percentage bands
// rise by 3.01 dB an octave (Master Handbook of Acoustics).
func TestWhiteNoise(t *testing.T) {
	const rate, sigma = 48000.0, 0.1
	rng := rand.New(rand.NewPCG(5, 6))
	x := make([]float64, 60*rate)
	for i := range x {
		x[i] = sigma * rng.NormFloat64()
	}
	a, windows := analyse(rate, [][]float64{x}, 4096)
	// 60 s in the octave at 125 Hz: about 60·88 degrees of freedom lessened by the
	// window, so one sd is near 0.1 dB; the tolerance is three of them.
	for _, octave := range []float64{125, 250, 500, 1000, 2000, 4000, 8000} {
		width := octave * (math.Sqrt2 - 1/math.Sqrt2)
		want := sigma * sigma * width / (rate / 2)
		got := sum(windows, power, octave/1.42, octave*1.42)
		low, high := 1e9, 0.0
		for b := range BandCount {
			if EdgeHz(b) >= octave/1.42 && EdgeHz(b+1) <= octave*1.42 {
				low, high = min(low, EdgeHz(b)), max(high, EdgeHz(b+1))
			}
		}
		want *= (high - low) / width
		if db := PowerToDB(got / want); math.Abs(db) > 0.3 {
			t.Errorf("octave at %g Hz: %.3f dB from white", octave, db)
		}
	}
	density, step := a.Density()
	total := 0.0
	for _, d := range density {
		total += d * step
	}
	if db := PowerToDB(total / (sigma * sigma)); math.Abs(db) > 0.05 {
		t.Errorf("whole density: %.3f dB from the variance (Parseval)", db)
	}
}

func TestBlockSizesGiveSameBytes(t *testing.T) {
	const rate, frames = 11025.0, 38588 // 3.5 s at a rate that six does not divide
	rng := rand.New(rand.NewPCG(7, 8))
	x := [][]float64{make([]float64, frames), make([]float64, frames)}
	for i := range x[0] {
		x[0][i], x[1][i] = rng.Float64()-0.5, rng.Float64()-0.5
	}
	whole, want := analyse(rate, x, len(x[0]))
	steady, _ := whole.SteadyDensity()
	if len(want) != 20 {
		t.Fatalf("3.5 s give %d windows, want 20", len(want))
	}
	for _, size := range []int{1, 7, 512} {
		a, got := analyse(rate, x, size)
		for i := range want {
			if got[i] != want[i] {
				t.Errorf("blocks of %d frames: window %d differs", size, i)
			}
		}
		if density, _ := a.SteadyDensity(); !slices.Equal(density, steady) {
			t.Errorf("blocks of %d frames: the steady density differs", size)
		}
	}
}

// A cubic through four samples is the cubic itself, so its integral over a band
// is that of the polynomial: closed form, any coefficients.
func TestBandSharesIntegrateCubics(t *testing.T) {
	const step = 1.5
	integral := func(k float64) float64 { return step * (3*k + 1.1*k*k/2 + 0.02*k*k*k/3 + 1e-5*k*k*k*k/4) }
	for b, s := range bandShares(step, 24000, 24000) {
		got := 0.0
		for i, w := range s.weight {
			k := float64(s.first + i)
			got += w * (3 + 1.1*k + 0.02*k*k + 1e-5*k*k*k)
		}
		want := integral(EdgeHz(b+1)/step) - integral(EdgeHz(b)/step)
		if math.Abs(got/want-1) > 1e-9 {
			t.Errorf("band %d: got %g, want %g", b, got, want)
		}
	}
}

// Every frame counts equally: wherever a click falls, the windows together hold
// the same energy (closed form: sin² + cos² = 1).
func TestEveryFrameCountsAlike(t *testing.T) {
	const rate, tolerance = 48000, 1e-9
	energy := func(at int) float64 {
		x := make([]float64, 2*rate)
		x[at] = 1
		_, windows := analyse(rate, [][]float64{x}, 4096)
		return sum(windows, power, 20, 20000)
	}
	want := energy(rate / 2)
	for _, at := range []int{rate/2 + 1, rate/2 + 1234, rate, rate + rate/12, rate + 7999, rate + rate/4 + 100} {
		if got := energy(at); math.Abs(got/want-1) > tolerance {
			t.Errorf("a click at frame %d has %g of the energy of one at %d", at, got/want, rate/2)
		}
	}
}

func BenchmarkAnalyser(b *testing.B) {
	const rate = 44100
	x := [][]float64{make([]float64, rate), make([]float64, rate)}
	for i := range x[0] {
		x[0][i], x[1][i] = float64(i%113)/113-0.5, float64(i%71)/71-0.5
	}
	a := NewAnalyser(rate, 2, func(int, *Bands) {})
	b.SetBytes(2 * 2 * rate) // as 16-bit stereo
	b.ReportAllocs()
	for b.Loop() {
		a.Add(x)
	}
}

// At any rate, no band uses bins above half of it.
func TestLowRates(t *testing.T) {
	for rate := 1000.0; rate < 2300; rate++ {
		x := make([]float64, int(rate))
		x[len(x)/3] = 1
		if _, windows := analyse(rate, [][]float64{x}, len(x)); len(windows) == 0 {
			t.Fatalf("rate %g: no window in a second", rate)
		}
	}
}
