package spectrum

import (
	"math"
	"math/rand/v2"
	"testing"
)

// analyse feeds x in blocks of the given size and collects the seconds.
func analyse(rateHz float64, x [][]float64, blockFrames int) (*Analyser, []Bands) {
	var seconds []Bands
	a := NewAnalyser(rateHz, len(x), func(b *Bands) { seconds = append(seconds, *b) })
	for at := 0; at < len(x[0]); at += blockFrames {
		block := make([][]float64, len(x))
		for c := range x {
			block[c] = x[c][at:min(at+blockFrames, len(x[c]))]
		}
		a.Add(block)
	}
	a.Flush()
	return a, seconds
}

// sum returns the total over bands from low to high Hz of the mean second.
func sum(seconds []Bands, of func(*Bands) *[BandCount]float64, lowHz, highHz float64) float64 {
	total := 0.0
	for i := range seconds {
		for b, p := range of(&seconds[i]) {
			if EdgeHz(b) >= lowHz && EdgeHz(b+1) <= highHz {
				total += p
			}
		}
	}
	return total / float64(len(seconds))
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
			if len(stereo) != 4 {
				t.Fatalf("%g Hz rate: %d seconds, want 4", rate, len(stereo))
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

// White noise has a flat density (0 dB/octave), so constant-percentage bands
// rise by 3.01 dB an octave (Master Handbook of Acoustics).
func TestWhiteNoise(t *testing.T) {
	const rate, sigma = 48000.0, 0.1
	rng := rand.New(rand.NewPCG(5, 6))
	x := make([]float64, 60*rate)
	for i := range x {
		x[i] = sigma * rng.NormFloat64()
	}
	a, seconds := analyse(rate, [][]float64{x}, 4096)
	// 60 s in the octave at 125 Hz: about 60·88 degrees of freedom halved by the
	// Hann window, so one sd is near 0.1 dB; the tolerance is three of them.
	for _, octave := range []float64{125, 250, 500, 1000, 2000, 4000, 8000} {
		width := octave * (math.Sqrt2 - 1/math.Sqrt2)
		want := sigma * sigma * width / (rate / 2)
		got := sum(seconds, power, octave/1.42, octave*1.42)
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
	const rate, frames = 11025.0, 38587 // 3.5 s at a rate at which windows leave frames between them
	rng := rand.New(rand.NewPCG(7, 8))
	x := [][]float64{make([]float64, frames), make([]float64, frames)}
	for i := range x[0] {
		x[0][i], x[1][i] = rng.Float64()-0.5, rng.Float64()-0.5
	}
	_, want := analyse(rate, x, len(x[0]))
	if len(want) != 4 {
		t.Fatalf("3.5 s give %d seconds, want 4", len(want))
	}
	for _, size := range []int{1, 7, 512} {
		_, got := analyse(rate, x, size)
		for i := range want {
			if got[i] != want[i] {
				t.Errorf("blocks of %d frames: second %d differs", size, i)
			}
		}
	}
}

// The integral of a straight line over a band is its value at the middle of
// the band times the width: closed form, with 11.7 as any slope.
func TestBandSharesIntegrateStraightLines(t *testing.T) {
	const step = 1.5
	for b, s := range bandShares(step, 24000) {
		got := 0.0
		for i, w := range s.weight {
			got += w * (3 + 11.7*step*float64(s.first+i))
		}
		low, high := EdgeHz(b), EdgeHz(b+1)
		want := (high - low) * (3 + 11.7*(low+high)/2)
		if math.Abs(got/want-1) > 1e-9 {
			t.Errorf("band %d: got %g, want %g", b, got, want)
		}
	}
}

func BenchmarkAnalyser(b *testing.B) {
	const rate = 44100
	x := [][]float64{make([]float64, rate), make([]float64, rate)}
	for i := range x[0] {
		x[0][i], x[1][i] = float64(i%113)/113-0.5, float64(i%71)/71-0.5
	}
	a := NewAnalyser(rate, 2, func(*Bands) {})
	b.SetBytes(2 * 2 * rate) // as 16-bit stereo
	b.ReportAllocs()
	for b.Loop() {
		a.Add(x)
	}
}
