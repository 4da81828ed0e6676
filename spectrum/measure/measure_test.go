package measure

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/internal/audiotest"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/memory"
	"toneplumb/spectrum/testkit"
)

func measured(t *testing.T, rateHz int, x [][]float64) *Recording {
	t.Helper()
	r, err := Measure(context.Background(), &memory.Sound{RateHz: rateHz, X: x}, "a.wav")
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestTable(t *testing.T) {
	const rate = 48000
	x := audiotest.Noise(1, rate, 10.5, -20)
	r := measured(t, rate, x)
	if r.DurationSec != 10.5 || r.Rows != 11 || len(r.Power) != 11*spectrum.BandCount || len(r.Width) != len(r.Power) {
		t.Fatalf("10.5 s: %g s, %d rows, %d and %d powers", r.DurationSec, r.Rows, len(r.Power), len(r.Width))
	}
	if len(r.StepPower) != 105 || len(r.StepPeak) != 105 || len(r.OctavePower) != 62*Octaves {
		t.Errorf("%d steps, %d peaks, %d octave powers; want 105, 105, %d", len(r.StepPower), len(r.StepPeak), len(r.OctavePower), 62*Octaves)
	}
	// White noise of two channels, each 1.25 times the squared level of its phrase.
	mean := r.MeanPower(nil)
	total, width := 0.0, spectrum.EdgeHz(spectrum.BandCount)-spectrum.EdgeHz(0)
	for _, p := range mean {
		total += p
	}
	square := 0.0
	for i := range x[0] {
		square += x[0][i]*x[0][i] + x[1][i]*x[1][i]
	}
	want := square / float64(len(x[0])) * width / (rate / 2)
	if db := spectrum.PowerToDB(total / want); math.Abs(db) > 0.1 { // 10 s of noise: sd 0.02 dB, and the ends
		t.Errorf("total power %.3f dB from the sound's", db)
	}
	if r.CutoffHz != 0 {
		t.Errorf("white noise is cut off at %g Hz", r.CutoffHz)
	}
	top := 0.0
	for _, p := range r.StepPeak {
		top = math.Max(top, p)
	}
	peak := 0.0
	for _, c := range x {
		for _, v := range c {
			peak = math.Max(peak, math.Abs(v))
		}
	}
	if top != peak {
		t.Errorf("largest sample %g, want %g", top, peak)
	}
}

func TestShortReadsGiveTheSameTable(t *testing.T) {
	x := audiotest.Noise(2, 11025, 6.3, -20)
	want := measured(t, 11025, x)
	for _, most := range []int{1, 7, 512} {
		got, err := Measure(context.Background(), &memory.Sound{RateHz: 11025, X: x, Most: most}, "a.wav")
		if err != nil {
			t.Fatal(err)
		}
		for i, p := range got.StepPower { // sums cut elsewhere differ in their last digits
			if math.Abs(p/want.StepPower[i]-1) > 1e-12 {
				t.Fatalf("reads of %d: step %d is %g, want %g", most, i, p, want.StepPower[i])
			}
		}
		if !reflect.DeepEqual(got.Power, want.Power) || !reflect.DeepEqual(got.Width, want.Width) || !reflect.DeepEqual(got.OctavePower, want.OctavePower) {
			t.Errorf("reads of %d frames give another table", most)
		}
	}
}

func TestRefused(t *testing.T) {
	for _, c := range []struct {
		name string
		src  *memory.Sound
		want string
	}{
		{"short", &memory.Sound{RateHz: 44100, X: audiotest.Noise(1, 44100, 2.9, -20)}, "lasts 2.9 s; at least 3 s are needed"},
		{"nothing", &memory.Sound{RateHz: 44100, X: audio.NewBlock(2, 0)}, "lasts 0.0 s"},
		{"silence", &memory.Sound{RateHz: 44100, X: audio.NewBlock(2, 5*44100)}, "is silent"},
		{"nearly silence", &memory.Sound{RateHz: 44100, X: audiotest.Noise(1, 44100, 5, -90)}, "is silent"},
		{"a click in an offset", &memory.Sound{RateHz: 44100, X: click(44100, 6)}, "has only 0.5 s of music; at least 3 s are needed"},
		{"telephone rate", &memory.Sound{RateHz: 6000, X: audiotest.Noise(1, 6000, 5, -20)}, "has a sample rate of 6000 Hz"},
		{"absurd rate", &memory.Sound{RateHz: 384000, X: audiotest.Noise(1, 384000, 0.1, -20)}, "has a sample rate of 384000 Hz"},
	} {
		r, err := Measure(context.Background(), c.src, "a.wav")
		var e *audio.Error
		if !errors.As(err, &e) || !strings.HasPrefix(e.Problem, c.want) || e.Path != "a.wav" || e.Hint == "" {
			t.Errorf("%s: %v, want %q with a hint", c.name, err, c.want)
		}
		if r != nil {
			t.Errorf("%s: a table beside the error", c.name)
		}
	}
}

// click returns a constant offset with one full-scale sample in the middle.
func click(rateHz int, sec int) [][]float64 {
	x := audio.NewBlock(2, sec*rateHz)
	for i := range x[0] {
		x[0][i], x[1][i] = 0.3, 0.3
	}
	x[0][len(x[0])/2], x[1][len(x[0])/2] = 1, 1
	return x
}

func TestSurroundIsItsFrontPair(t *testing.T) {
	front := audiotest.Noise(1, 44100, 4, -20)
	loud := audiotest.Noise(2, 44100, 4, 0)
	r := measured(t, 44100, [][]float64{front[0], front[1], loud[0], loud[1], loud[0], loud[1]})
	if want := measured(t, 44100, front); r.LoudnessLUFS != want.LoudnessLUFS || !reflect.DeepEqual(r.Power, want.Power) {
		t.Error("the rear channels count")
	}
	if len(r.Warnings) != 1 || r.Warnings[0] != (codec.Remark{Kind: codec.FrontPair, Count: 6}) {
		t.Errorf("warnings %v", r.Warnings)
	}
}

// 20.4 s of hiss at −60 dBFS before the music, and silence, have no effect.
func TestGateDropsWhatIsNoMusic(t *testing.T) {
	const rate, toleranceDB = 44100, 0.02
	music := audiotest.Noise(3, rate, 30, -20)
	rng := rand.New(rand.NewPCG(9, 9))
	for name, level := range map[string]float64{"hiss": 0.001, "silence": 0} {
		lead := audio.NewBlock(2, 20.4*rate)
		for c := range lead {
			for i := range lead[c] {
				lead[c][i] = level * rng.NormFloat64()
			}
			lead[c] = append(lead[c], music[c]...)
		}
		with, plain := measured(t, rate, lead), measured(t, rate, music)
		a, b := with.MeanPower(with.GateWeights()), plain.MeanPower(plain.GateWeights())
		// The offset is free: compare after removing the mean over 60 Hz to 12 kHz.
		var d []float64
		mean := 0.0
		for i := range a {
			if hz := spectrum.CentreHz(i); hz > 60 && hz < 12000 {
				d = append(d, spectrum.PowerToDB(a[i]/b[i]))
				mean += d[len(d)-1]
			}
		}
		for _, v := range d {
			if math.Abs(v-mean/float64(len(d))) > 10*toleranceDB {
				t.Errorf("%s before one side: %.3f dB in a band", name, v-mean/float64(len(d)))
				break
			}
		}
		for s, w := range with.GateWeights() {
			if s < 20 && w != 0 || s > 21 && w != 1 {
				t.Errorf("%s: second %d counts %g", name, s, w)
			}
		}
	}
}

// The table's prediction against filtering the sound.
func TestStepPowerThrough(t *testing.T) {
	const rate, toleranceLU = 44100, 0.06 // our choice: less than the 0.1 that is printed; songs give 0.03 at worst
	filters := []biquad.Filter{
		{Shape: biquad.LowShelf, FreqHz: 150, GainDB: 5, Q: 0.7},
		{Shape: biquad.Bell, FreqHz: 2500, GainDB: -5, Q: 0.8},
	}
	x := audiotest.Noise(4, rate, 20, -10)
	biquad.NewCascade([]biquad.Filter{{Shape: biquad.HighCut, FreqHz: 300, CutDBPerOct: 6}}, rate, 2).Run(x) // as music falls
	r := measured(t, rate, x)
	gain := biquad.ResponseDB(nil, filters, spectrum.Centres(), rate)
	for b, db := range gain {
		gain[b] = spectrum.DBToPower(db)
	}
	got := loudness.Integrated(r.StepPowerThrough(gain))
	biquad.NewCascade(filters, rate, 2).Run(x)
	if want := measured(t, rate, x).LoudnessLUFS; math.Abs(got-want) > toleranceLU {
		t.Errorf("predicted %.3f LUFS, measured %.3f", got, want)
	}
	for b := range gain {
		gain[b] = 1
	}
	for i, p := range r.StepPowerThrough(gain) {
		if math.Abs(p/r.StepPower[i]-1) > 1e-12 {
			t.Fatalf("through nothing step %d is %g, want %g", i, p, r.StepPower[i])
		}
	}
}

func TestCutoff(t *testing.T) {
	const step, bins = 1.5, 14701 // 44.1 kHz
	spectrumOf := func(level func(hz float64) float64) []float64 {
		d := make([]float64, bins)
		for k := range d {
			d[k] = spectrum.DBToPower(level(float64(k) * step))
		}
		return d
	}
	pink := func(hz float64) float64 { return -60 - 10*math.Log10(math.Max(hz, 20)) }
	for _, c := range []struct {
		name string
		f    func(hz float64) float64
		want float64 // 0: none
	}{
		{"pink", pink, 0},
		{"wall at 16 kHz", func(hz float64) float64 { return pink(hz) - 80*step01((hz-15800)/400) }, 16000},
		{"wall of 20 dB at 11 kHz", func(hz float64) float64 { return pink(hz) - 20*step01((hz-10900)/200) }, 11000},
		{"12 dB per octave from 5 kHz", func(hz float64) float64 { return pink(hz) - 40*math.Log10(math.Max(1, hz/5000)) }, 0},
		{"48 dB per octave from 8 kHz", func(hz float64) float64 { return pink(hz) - 160*math.Log10(math.Max(1, hz/8000)) }, 0},
		{"a hole that ends", func(hz float64) float64 {
			if hz > 9000 && hz < 12000 {
				return pink(hz) - 40
			}
			return pink(hz)
		}, 0},
		{"a converter's end at 21 kHz", func(hz float64) float64 { return pink(hz) - 80*step01((hz-20800)/400) }, 0},
		{"wall at 20.1 kHz: nothing judged is lost", func(hz float64) float64 { return pink(hz) - 80*step01((hz-19950)/300) }, 0},
		{"a fall into the dither of 16 bits", func(hz float64) float64 {
			music := pink(hz) - 200*math.Log10(math.Max(1, hz/5000)) // 60 dB per octave
			const ditherDB = -137                                    // TPDF and rounding of two channels: 2·3·2^-30/12/22050 per Hz, rounded
			return spectrum.PowerToDB(spectrum.DBToPower(music) + spectrum.DBToPower(ditherDB))
		}, 0},
		{"wall at 16 kHz into the dither of 16 bits", func(hz float64) float64 { return math.Max(pink(hz)-80*step01((hz-15800)/400), -137) }, 16000},
		{"wall at 16 kHz and attacks 10 dB lower up to 16.6", func(hz float64) float64 {
			return pink(hz) - 10*step01((hz-15950)/100) - 80*step01((hz-16600)/400)
		}, 16000},
		{"wall at 5 kHz: too low to be coding", func(hz float64) float64 { return pink(hz) - 80*step01((hz-4800)/400) }, 0},
	} {
		got := fall(spectrumOf(c.f), step, cutoffFromHz, cutoffFallDB)
		if c.want == 0 && got != 0 || c.want != 0 && math.Abs(got-c.want) > 200 {
			t.Errorf("%s: %.0f Hz, want %.0f", c.name, got, c.want)
		}
	}
}

// An encoder's long windows end at 16.2 kHz, its short ones at 16.9 kHz. Attacks twice a
// second are 40 dB louder and dominate the mean between the two.
func TestCutoffBetweenAttacks(t *testing.T) {
	testkit.Skip(t, "minutes of sound")
	const rate, sec, toleranceHz = 44100, 20, 250.0 // three bins of the steady density
	lowpassed := func(seed uint64, hz float64) []float64 {
		rng := rand.New(rand.NewPCG(seed, seed))
		h := make([]float64, 301) // windowed sinc, −6 dB at hz, 40 dB down 0.25 kHz above
		for i := range h {
			x := float64(i-150) * 2 * hz / rate
			h[i] = 2 * hz / rate * (0.5 + 0.5*math.Cos(math.Pi*float64(i-150)/151))
			if x != 0 {
				h[i] *= math.Sin(math.Pi*x) / (math.Pi * x)
			}
		}
		white := make([]float64, sec*rate+len(h))
		for i := range white {
			white[i] = rng.NormFloat64()
		}
		y := make([]float64, sec*rate)
		for i := range y {
			for j, v := range h {
				y[i] += v * white[i+j]
			}
		}
		return y
	}
	x, attack := lowpassed(1, 16200), lowpassed(2, 16900)
	for i := range x {
		x[i] *= 0.001
		if ms := i % (rate / 2) * 1000 / rate; ms < 10 {
			x[i] += 0.1 * math.Sin(math.Pi*float64(i%(rate/2))/(rate/100)) * attack[i]
		}
	}
	a := spectrum.NewAnalyser(rate, 1, func(int, *spectrum.Bands) {})
	a.Add([][]float64{x})
	density, stepHz := a.Density()
	if mean := fall(density, stepHz, cutoffFromHz, cutoffFallDB); math.Abs(mean-16900) > toleranceHz {
		t.Fatalf("the mean falls at %.0f Hz, want 16900: the test tests nothing", mean)
	}
	if got := cutoff(a); math.Abs(got-16200) > toleranceHz {
		t.Errorf("%.0f Hz, want 16200 ± %.0f", got, toleranceHz)
	}
}

// step01 rises linearly from 0 to 1.
func step01(x float64) float64 { return math.Min(math.Max(x, 0), 1) }
