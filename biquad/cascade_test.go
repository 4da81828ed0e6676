package biquad

import (
	"fmt"
	"math"
	"testing"
)

// noise returns frames of a fixed sequence within ±½: frac(n²·golden ratio) − ½.
func noise(frames int) []float64 {
	x := make([]float64, frames)
	for n := range x {
		x[n] = math.Mod(float64(n*n)*0.6180339887498949, 1) - 0.5
	}
	return x
}

func kWeighting() []Coeffs {
	return []Coeffs{
		{1.53512485958697, -2.69169618940638, 1.19839281085285, -1.69065929318241, 0.73248077421585},
		{1, -2, 1, -1.99004745483398, 0.99007225036621},
	}
}

func TestCascadeAgainstScipy(t *testing.T) {
	const tol = 1e-12 // the same form in double precision, roundings in another order
	var data scipyData
	readJSON(t, "scipy.json", &data)
	var sections []Coeffs
	for _, s := range data.SOS {
		sections = append(sections, Coeffs{s[0], s[1], s[2], s[4], s[5]})
	}
	x := noise(data.Every * len(data.Filtered))
	NewCascadeOf(sections, 1).Run([][]float64{x})
	for i, want := range data.Filtered {
		if got := x[i*data.Every]; !(math.Abs(got-want) <= tol) {
			t.Errorf("frame %d: %.15g, scipy %.15g ± %g", i*data.Every, got, want, tol)
		}
	}
}

// someFilters has five sections, one of first order.
func someFilters() []Filter {
	return []Filter{
		{LowCut, 25, 0, 0, 18}, {LowShelf, 90, 4, 0.6, 0},
		{Bell, 800, -5, 1.2, 0}, {HighShelf, 9000, 3, 0.5, 0},
	}
}

func fiveSections() []Coeffs {
	var all []Coeffs
	for _, f := range someFilters() {
		all = append(all, f.Sections(48000)...)
	}
	return all
}

// TestCascadeIsDirectForm compares with the difference equation of each section
// in turn, from the formula of Coeffs.
func TestCascadeIsDirectForm(t *testing.T) {
	const tol = 1e-9 // direct form I near 25 Hz of 48 kHz loses seven digits
	const rate = 48000
	x := noise(5000)
	want := append([]float64(nil), x...)
	for _, f := range someFilters() {
		for _, c := range f.Sections(rate) {
			in := append([]float64{0, 0}, want...)
			out := make([]float64, len(in))
			for n := 2; n < len(in); n++ {
				out[n] = c.B0*in[n] + c.B1*in[n-1] + c.B2*in[n-2] - c.A1*out[n-1] - c.A2*out[n-2]
			}
			want = out[2:]
		}
	}
	block := [][]float64{x, noise(5000), noise(5000)} // a pair of channels and one alone
	NewCascade(someFilters(), rate, len(block)).Run(block)
	for ch, got := range block {
		for n := range got {
			if !(math.Abs(got[n]-want[n]) <= tol) {
				t.Fatalf("channel %d, frame %d: %.12g, want %.12g ± %g", ch, n, got[n], want[n], tol)
			}
		}
	}
}

func TestBlockSizes(t *testing.T) {
	const frames = 5000
	for sections := range 6 {
		all := fiveSections()[:sections]
		var want [][]float64
		for _, size := range []int{frames, 1, 7, 512} {
			got := [][]float64{noise(frames), noise(2 * frames)[frames:], noise(3 * frames)[2*frames:]}
			c := NewCascadeOf(all, len(got))
			for from := 0; from < frames; from += size {
				to := min(frames, from+size)
				c.Run([][]float64{got[0][from:to], got[1][from:to], got[2][from:to]})
			}
			if want == nil {
				want = got
			}
			for ch := range got {
				for n := range got[ch] {
					if got[ch][n] != want[ch][n] {
						t.Fatalf("%d sections, blocks of %d: channel %d frame %d is %g, in one block %g", sections, size, ch, n, got[ch][n], want[ch][n])
					}
				}
			}
		}
	}
}

func TestCascadeCallers(t *testing.T) {
	c := NewCascadeOf(kWeighting(), 2)
	if !panics(func() { c.Run([][]float64{{1}}) }) {
		t.Error("one channel into a cascade of two did not panic")
	}
	if !panics(func() { c.Run([][]float64{{1}, {1, 2}}) }) {
		t.Error("channels of different lengths did not panic")
	}
	c.Run([][]float64{{}, {}})
}

// After an impulse every state must become 0, and no state may be a denormal number for
// longer than restFrames.
func TestSilenceComesToRest(t *testing.T) {
	const smallestNormal = 0x1p-1022
	const limit = 10_000_000 // frames; 25 Hz needs less than a million
	fast := Filter{HighShelf, 12000, -12, 0.7, 0}
	for _, f := range append(someFilters(), fast) {
		c := NewCascade([]Filter{f}, 48000, 1)
		c.Run([][]float64{{1}})
		denormal, frame := 0, 0
		for x := [][]float64{{0}}; !c.atRest() && frame < limit; frame++ {
			x[0][0] = 0
			c.Run(x)
			for _, s := range c.channels[0] {
				if a := math.Abs(s.s1); a > 0 && a < smallestNormal {
					denormal++
					break
				}
			}
		}
		if frame == limit || denormal > restFrames {
			t.Errorf("%s: at rest after %d frames, %d of them with denormal state", describe(f), frame, denormal)
		}
	}
}

func (c *Cascade) atRest() bool {
	for _, s := range c.channels[0] {
		if s.s1 != 0 || s.s2 != 0 {
			return false
		}
	}
	return true
}

func BenchmarkCascade(b *testing.B) {
	const frames = 4800
	for _, row := range []struct {
		name     string
		sections []Coeffs
	}{
		{"K-weighting", kWeighting()},
		{"five sections", fiveSections()},
	} {
		for _, channels := range []int{1, 2} {
			b.Run(fmt.Sprintf("%s/%d channels", row.name, channels), func(b *testing.B) {
				block := make([][]float64, channels)
				for ch := range block {
					block[ch] = noise(frames)
				}
				c := NewCascadeOf(row.sections, channels)
				b.SetBytes(int64(frames * channels * 8))
				b.ReportAllocs()
				for b.Loop() {
					c.Run(block)
				}
			})
		}
	}
}
