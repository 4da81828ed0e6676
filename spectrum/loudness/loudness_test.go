package loudness

import (
	"math"
	"slices"
	"testing"

	"toneplumb/biquad"
)

// tone is a 1 kHz sine of some length, with its peak level in dBFS per channel.
type tone struct {
	seconds float64
	dbfs    []float64
}

func both(seconds, dbfs float64) tone { return tone{seconds, []float64{dbfs, dbfs}} }

// measureTones returns the integrated loudness of the tones one after another.
func measureTones(rateHz, freqHz float64, tones []tone, blockFrames int) float64 {
	return Integrated(stepsOf(rateHz, freqHz, tones, blockFrames))
}

func stepsOf(rateHz, freqHz float64, tones []tone, blockFrames int) []float64 {
	channels := len(tones[0].dbfs)
	m := NewMeter(rateHz, channels)
	block := make([][]float64, channels)
	for c := range block {
		block[c] = make([]float64, blockFrames)
	}
	phase := 0
	for _, t := range tones {
		for left := int(math.Round(t.seconds * rateHz)); left > 0; {
			n := min(left, blockFrames)
			part := make([][]float64, channels)
			for c := range block {
				part[c] = block[c][:n]
				amp := math.Pow(10, t.dbfs[c]/20)
				for i := range part[c] {
					part[c][i] = amp * math.Sin(2*math.Pi*freqHz*float64(phase+i)/rateHz)
				}
			}
			m.Add(part)
			phase, left = phase+n, left-n
		}
	}
	return m.Steps()
}

// EBU Tech 3341, table 1, signals 1 to 6: 1 kHz sines whose loudness is given
// within ±0.1 LU at 48 kHz; we ask for half of that, at other rates too.
func TestTech3341(t *testing.T) {
	const toleranceLU = 0.05
	rates := []float64{48000, 44100, 96000}
	if testing.Short() {
		rates = rates[:1]
	}
	for _, c := range []struct {
		name  string
		want  float64
		tones []tone
	}{
		{"1", -23, []tone{both(20, -23)}},
		{"2", -33, []tone{both(20, -33)}},
		{"3", -23, []tone{both(10, -36), both(60, -23), both(10, -36)}},
		{"4", -23, []tone{both(10, -72), both(10, -36), both(60, -23), both(10, -36), both(10, -72)}},
		{"5", -23, []tone{both(20, -26), both(20.1, -20), both(20, -26)}},
		{"6, five channels", -23, []tone{{20, []float64{-28, -28, -24, -30, -30}}}},
		{"6, with silent low-frequency effects", -23, []tone{{20, []float64{-28, -28, -24, math.Inf(-1), -30, -30}}}},
	} {
		for _, rate := range rates {
			got := measureTones(rate, 1000, c.tones, 4096)
			if !(math.Abs(got-c.want) <= toleranceLU) {
				t.Errorf("signal %s at %g Hz: got %.3f LUFS, want %g ± %g", c.name, rate, got, c.want, toleranceLU)
			}
		}
	}
}

// BS.1770-4: a 997 Hz sine at 0 dBFS in one channel reads −3.01 LUFS.
func TestFullScaleSine(t *testing.T) {
	const toleranceLU = 0.01 // of the printed digits
	for _, rate := range []float64{8000, 22050, 44100, 48000, 96000, 192000} {
		if got := measureTones(rate, 997, []tone{{10, []float64{0}}}, 1000); !(math.Abs(got+3.01) <= toleranceLU) {
			t.Errorf("at %g Hz: got %.4f LUFS, want −3.01", rate, got)
		}
	}
}

func TestKWeighting(t *testing.T) {
	const tolerance = 1e-12 // relative: the same numbers through one round trip
	for i, want := range []biquad.Coeffs{headShelf48k, highPass48k} {
		got := kSections(48000)[i]
		for _, d := range []float64{got.B0 - want.B0, got.B1 - want.B1, got.B2 - want.B2, got.A1 - want.A1, got.A2 - want.A2} {
			if math.Abs(d) > tolerance*2 {
				t.Errorf("section %d at 48 kHz: got %v, want %v", i, got, want)
				break
			}
		}
	}
	// Response in dB of the tables at 48 kHz, computed with scipy.signal.freqz
	// 1.10; at other rates the response may differ where the bilinear transform
	// squeezes the shelf, least below 5 kHz.
	hz := []float64{20, 100, 1000, 10000}
	want := []float64{-13.275, -1.133, 0.698, 4.042}
	for _, rate := range []float64{44100, 48000, 96000, 192000} {
		toleranceDB := 0.02
		if rate == 48000 {
			toleranceDB = 0.0006 // of the printed digits
		}
		for i, p := range Weighting(hz, rate) {
			if got := 10 * math.Log10(p); math.Abs(got-want[i]) > toleranceDB {
				t.Errorf("at rate %g, %g Hz: got %.4f dB, want %.3f ± %g", rate, hz[i], got, want[i], toleranceDB)
			}
		}
	}
}

// BS.1770-4, table 3: the weights of 3/2 sound, with and without low-frequency effects.
func TestChannelWeights(t *testing.T) {
	for channels, want := range map[int][]float64{
		1: {1}, 2: {1, 1}, 3: {1, 1, 1}, 4: {1, 1, 1.41, 1.41}, 5: {1, 1, 1, 1.41, 1.41}, 6: {1, 1, 1, 0, 1.41, 1.41},
	} {
		if got := channelWeights(channels); !slices.Equal(got, want) {
			t.Errorf("%d channels: weights %v, want %v", channels, got, want)
		}
		for c, g := range want {
			// One channel alone: the level of a sine in it, in one of stereo, plus its weight.
			const toleranceLU = 0.01 // as in TestFullScaleSine
			dbfs := slices.Repeat([]float64{math.Inf(-1)}, channels)
			dbfs[c] = 0
			got, want := measureTones(8000, 997, []tone{{1, dbfs}}, 1000), -3.01+10*math.Log10(g)
			if got != want && !(math.Abs(got-want) <= toleranceLU) {
				t.Errorf("channel %d of %d: got %.4f LUFS, want %.3f", c, channels, got, want)
			}
		}
	}
}

func TestSilenceAndShortness(t *testing.T) {
	for name, steps := range map[string][]float64{
		"nothing": nil, "300 ms": {1, 1, 1}, "silence": make([]float64, 100),
		"below the absolute gate": {1e-8, 1e-8, 1e-8, 1e-8, 1e-8},
	} {
		if got := Integrated(steps); !math.IsInf(got, -1) {
			t.Errorf("%s: got %v LUFS, want -Inf", name, got)
		}
		for _, passes := range Gate(steps, RangeGateLU) {
			if passes {
				t.Errorf("%s: a block passes the gate", name)
			}
		}
	}
}

func TestRelativeGate(t *testing.T) {
	steps := make([]float64, 0, 300)
	for range 100 {
		steps = append(steps, 0.01) // −20.7 LUFS
	}
	for range 100 {
		steps = append(steps, 0.01*0.02) // 17 LU below
	}
	for range 100 {
		steps = append(steps, 0.01*0.001) // 30 LU below
	}
	for _, c := range []struct {
		relativeLU float64
		want       int // blocks that pass, those across a border included
	}{{-10, 100}, {-20, 200}, {-60, 297}} {
		n := 0
		for _, passes := range Gate(steps, c.relativeLU) {
			if passes {
				n++
			}
		}
		if n != c.want {
			t.Errorf("gate at %g LU: %d blocks pass, want %d", c.relativeLU, n, c.want)
		}
	}
}

func TestBlockSizesGiveSameBytes(t *testing.T) {
	tones := []tone{both(0.75, -10), both(0.6, -20)}
	want := measureTones(11025, 441, tones, 1<<20)
	for _, size := range []int{1, 7, 512} {
		// A sum cut at other places may differ in its last digits.
		if got := measureTones(11025, 441, tones, size); math.Abs(got-want) > 1e-12 {
			t.Errorf("blocks of %d: got %v, want %v", size, got, want)
		}
	}
}

func TestPeaksAndUntouchedBlock(t *testing.T) {
	m := NewMeter(1000, 2)
	l, r := make([]float64, 250), make([]float64, 250)
	l[120], r[50], r[249] = 0.25, -0.75, 1
	m.Add([][]float64{l, r})
	if p := m.Peaks(); len(p) != 2 || p[0] != 0.75 || p[1] != 0.25 {
		t.Errorf("peaks %v, want [0.75 0.25]", p)
	}
	if l[120] != 0.25 || l[121] != 0 {
		t.Error("the meter changed the block")
	}
}
