package loudness

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// sine returns a sine that is faded in and out over a tenth of its length, since an abrupt
// start rings above its level.
func sine(perFrame, degrees, amplitude float64, frames int) []float64 {
	x := make([]float64, frames)
	for i := range x {
		edge := min(1, float64(min(i, frames-1-i))/(float64(frames)/10))
		fade := (1 - math.Cos(math.Pi*edge)) / 2
		x[i] = amplitude * fade * math.Sin(2*math.Pi*perFrame*float64(i)+degrees*math.Pi/180)
	}
	return x
}

func truePeak(rateHz float64, x ...[]float64) float64 {
	m := NewPeakMeter(rateHz, len(x))
	m.Add(x)
	return m.TruePeakDBTP()
}

// EBU Tech 3341, signals 15 to 19: sines whose true peak is given within +0.2 and
// −0.4 dB at 48 kHz; we ask for half of that, at other rates too. (19's 1.41 is
// +2.98 dB.)
func TestTech3341TruePeak(t *testing.T) {
	const overDB, underDB = 0.1, 0.2
	for _, c := range []struct {
		name                         string
		perFrame, degrees, amplitude float64
		want                         float64
	}{
		{"15", 1. / 4, 0, 0.5, -6},
		{"16", 1. / 4, 45, 0.5, -6},
		{"17", 1. / 6, 60, 0.5, -6},
		{"18", 1. / 8, 67.5, 0.5, -6},
		{"19", 1. / 4, 45, 1.41, 3},
	} {
		for _, rate := range []float64{48000, 44100, 96000} {
			x := sine(c.perFrame, c.degrees, c.amplitude, 48000)
			got := truePeak(rate, x, x)
			if !(got <= c.want+overDB && got >= c.want-underDB) {
				t.Errorf("signal %s at %g Hz: got %.3f dBTP, want %g +%g −%g", c.name, rate, got, c.want, overDB, underDB)
			}
		}
	}
}

// filterRippleDB is the error claimed at halfTaps, up to 0.45 of the sample rate.
const filterRippleDB = 0.011

func TestFilterRipple(t *testing.T) {
	worst := 0.0
	for _, fraction := range []float64{1. / 8, 1. / 4, 1. / 2, 3. / 4} {
		h := taps(fraction)
		for f := 0.0; f <= 0.45; f += 1e-4 {
			re, im := 0.0, 0.0
			for k, v := range h {
				s, c := math.Sincos(2 * math.Pi * f * (float64(k-(halfTaps-1)) - fraction))
				re, im = re+v*c, im+v*s
			}
			worst = max(worst, math.Abs(20*math.Log10(math.Hypot(re, im))), 20*math.Log10(1+math.Hypot(re-1, im)))
		}
	}
	if !(worst <= filterRippleDB) {
		t.Errorf("ripple to 0.45 of the rate: %.4f dB, want at most %g", worst, filterRippleDB)
	}
}

// A sine of any frequency and phase reads below its level by at most the loss between
// computed values (closed form, see halfTaps) plus the ripple, and above it by at most the
// ripple.
func TestTruePeakOfAnySine(t *testing.T) {
	const fadeDB = 0.01 // a fade is a slow modulation, and tops only nearly meet its middle
	random := rand.New(rand.NewPCG(1, 2))
	for range 200 {
		perFrame, degrees := 0.01+0.44*random.Float64(), 360*random.Float64()
		for rate, factor := range map[float64]float64{44100: 4, 88200: 2, 22050: 8} {
			got := truePeak(rate, sine(perFrame, degrees, 1, 4000))
			low := 20*math.Log10(math.Cos(math.Pi*perFrame/factor)) - filterRippleDB - fadeDB
			if !(got >= low && got <= filterRippleDB+fadeDB) {
				t.Errorf("%.4f of %g Hz, %.1f°: got %.3f dBTP, want %.3f to %.3f", perFrame, rate, degrees, got, low, filterRippleDB)
			}
		}
	}
}

func TestOversampling(t *testing.T) {
	for rate, want := range map[float64]int{
		8000: 32, 22050: 8, 32000: 8, 44100: 4, 48000: 4, 88200: 2, 96000: 2, 176400: 1, 192000: 1, 384000: 1,
	} {
		if got := oversampling(rate); got != want {
			t.Errorf("oversampling at %g Hz: %d, want %d", rate, got, want)
		}
	}
	x := sine(0.25, 45, 0.5, 4800)
	if got, want := truePeak(192000, x), 20*math.Log10(peakOf(x)); got != want {
		t.Errorf("at 192 kHz: got %v dBTP, want the sample peak %v", got, want)
	}
}

// wholePeak computes every value between frames, without the shortcut.
func wholePeak(x []float64, factor int) float64 {
	f := newFilter(factor)
	silence := make([]float64, 2*halfTaps)
	x = slices.Concat(silence, x, silence)
	peak := peakOf(x)
	for n := 0; n+2*halfTaps <= len(x); n++ {
		peak = max(peak, f.largest(x[n:n+2*halfTaps]))
	}
	return peak
}

// plainPeak does the same with the taps directly, without the folding of pairs.
func plainPeak(x []float64, factor int) float64 {
	silence := make([]float64, 2*halfTaps)
	x = slices.Concat(silence, x, silence)
	peak := peakOf(x)
	for i := 1; i < factor; i++ {
		h := taps(float64(i) / float64(factor))
		for n := 0; n+len(h) <= len(x); n++ {
			sum := 0.0
			for k, v := range h {
				sum += v * x[n+k]
			}
			peak = max(peak, math.Abs(sum))
		}
	}
	return peak
}

// peakSignals are sounds that test the shortcut in different ways.
func peakSignals(frames int) map[string][]float64 {
	random := rand.New(rand.NewPCG(3, 4))
	white, silence, sparse, square := make([]float64, frames), make([]float64, frames), make([]float64, frames), make([]float64, frames)
	growing := sine(0.45, 0, 1, frames)
	for i := range white {
		white[i] = 2*random.Float64() - 1
		square[i] = float64(1 - 2*(i/7%2))
		if random.IntN(100) == 0 {
			sparse[i] = random.NormFloat64()
		}
		growing[i] *= float64(i) / float64(frames)
	}
	worst := slices.Clone(silence) // all taps of the middle add up
	for k, h := range taps(0.5) {
		worst[frames/2+k] = math.Copysign(0.3, h)
	}
	slope := slices.Clone(silence)
	for i := range slope {
		slope[i] = float64(i) / float64(frames)
	}
	return map[string][]float64{
		"white noise": white, "silence": silence, "sparse": sparse, "square wave": square, "growing sine": growing,
		"worst case": worst, "slope cut off at its top": slope,
		"music-like": musicLike(frames)[0], "limited": limited(frames)[0],
		"one frame": {1}, "two frames": {0.7, 0.7}, "nothing": {},
	}
}

func TestShortcutChangesNothing(t *testing.T) {
	const rounding = 1e-13 // relative: sums of 40 products in another order
	for name, x := range peakSignals(9000) {
		for _, rate := range []float64{22050, 44100, 96000} {
			m := NewPeakMeter(rate, 1)
			m.Add([][]float64{x})
			factor := oversampling(rate)
			if got, want := m.TruePeak(), wholePeak(x, factor); got != want {
				t.Errorf("%s at %g Hz: got %v, without the shortcut %v", name, rate, got, want)
			}
			if got, want := m.TruePeak(), plainPeak(x, factor); math.Abs(got-want) > rounding*want {
				t.Errorf("%s at %g Hz: got %v, by plain convolution %v", name, rate, got, want)
			}
		}
	}
}

// The bound holds for any 40 samples, and is close enough to be useful.
func TestBound(t *testing.T) {
	const bendLimit = 0.5 // the claim at bound
	f := newFilter(4)
	if !(f.near <= 1+1e-9 && f.bend <= bendLimit) {
		t.Errorf("bound has weights %v and %v, want 1 and at most %g", f.near, f.bend, bendLimit)
	}
	random := rand.New(rand.NewPCG(5, 6))
	h := [][]float64{taps(0.25), taps(0.5)}
	x := make([]float64, 2*halfTaps)
	for trial := range 20000 {
		for k := range x {
			switch trial % 4 {
			case 0:
				x[k] = random.NormFloat64()
			case 1: // what each tap weighs most
				x[k] = math.Copysign(1, h[trial/4%2][k]) + 0.1*random.NormFloat64()
			case 2:
				x[k] = math.Cos(float64(k) * float64(trial) / 20000 * math.Pi)
			case 3: // second differences of ±1: the sign of the curvature is free
				x[k] = float64(1 - 2*random.IntN(2))
				if k >= 2 {
					x[k] += 2*x[k-1] - x[k-2]
				}
			}
		}
		bend := 0.0
		for k := 1; k+1 < len(x); k++ {
			bend = max(bend, math.Abs(x[k-1]-2*x[k]+x[k+1]))
		}
		level := max(math.Abs(x[halfTaps-1]), math.Abs(x[halfTaps]))
		// A value as large as this must not be ruled out by any smaller peak.
		if got := f.largest(x); f.bounded(level, f.bend*bend, math.Nextafter(got, 0)) {
			t.Fatalf("trial %d: value %v above its bound, level %v and second difference %v", trial, got, level, bend)
		}
	}
}

func TestPeakMeterBlocks(t *testing.T) {
	for name, x := range peakSignals(5000) {
		y := slices.Clone(x)
		slices.Reverse(y)
		want := NewPeakMeter(44100, 2)
		want.Add([][]float64{x, y})
		for _, size := range []int{1, 7, 512} {
			m := NewPeakMeter(44100, 2)
			for at := 0; at < len(x); at += size {
				to := min(at+size, len(x))
				m.Add([][]float64{x[at:to], y[at:to]})
				if at%1024 == 0 {
					m.TruePeak() // reading it in between changes nothing
				}
			}
			if got, want := m.TruePeak(), want.TruePeak(); got != want {
				t.Errorf("%s in blocks of %d: got %v, in one %v", name, size, got, want)
			}
		}
	}
}

func TestPeakMeterEdges(t *testing.T) {
	quiet := make([]float64, 6000)
	for _, c := range []struct {
		name string
		x    [][]float64
		want float64
	}{
		{"nothing", [][]float64{{}}, FloorDBTP},
		{"silence", [][]float64{quiet, quiet}, FloorDBTP},
		{"below the floor", [][]float64{{1e-30}}, FloorDBTP},
		{"one frame", [][]float64{{-0.5}}, 20 * math.Log10(0.5)},
	} {
		if got := truePeak(44100, c.x...); got != c.want {
			t.Errorf("%s: got %v dBTP, want %v", c.name, got, c.want)
		}
	}
	// A peak is found in any place and any channel.
	for _, at := range []int{0, 1, 19, 20, 2000, 2039, 2040, 2041, 5998} {
		for channel := range 3 {
			x := [][]float64{slices.Clone(quiet), slices.Clone(quiet), slices.Clone(quiet)}
			x[channel][at], x[channel][at+1] = 0.5, 0.5
			const want, toleranceDB = -6.0206 + 2.0982, 0.03 // 4/π midway between two alike; the window takes 0.02 dB
			if got := truePeak(44100, x...); math.Abs(got-want) > toleranceDB {
				t.Errorf("peak at %d in channel %d: got %.3f dBTP, want %.3f", at, channel, got, want)
			}
			if x[channel][at] != 0.5 || x[channel][at+1] != 0.5 {
				t.Error("the meter changed the block")
			}
		}
	}
}
