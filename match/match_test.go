package match

import (
	"math"
	"math/rand/v2"
	"testing"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure"
)

// invented makes the table of a recording whose bands, pink on the whole, go
// through tone in dB, and whose octaves move on their own from window to window.
func invented(seed uint64, seconds int, tone func(hz float64) float64) *measure.Recording {
	rng := rand.New(rand.NewPCG(seed, 9))
	r := &measure.Recording{
		Path:   "invented.wav",
		Name:   "invented.wav",
		Format: audio.Format{Container: "WAV", RateHz: 44100, Channels: 2, Bits: 24, Frames: -1},
		RowSec: 1, Rows: seconds, DurationSec: float64(seconds),
	}
	k := loudness.Weighting(spectrum.Centres(), 44100)
	var tonePower [spectrum.BandCount]float64
	for b := range tonePower {
		tonePower[b] = spectrum.DBToPower(tone(spectrum.CentreHz(b)))
	}
	for range seconds {
		var row [spectrum.BandCount]float64
		for range spectrum.WindowsPerSecond {
			for o := range measure.Octaves {
				gain := spectrum.DBToPower(-45 + 8*rng.NormFloat64())
				sum := 0.0
				for b := o * 24; b < (o+1)*24; b++ {
					p := gain * tonePower[b]
					row[b] += p / spectrum.WindowsPerSecond
					sum += p
				}
				r.OctavePower = append(r.OctavePower, float32(sum))
			}
		}
		weighted := 0.0
		for b, p := range row {
			r.Power = append(r.Power, float32(p))
			r.Width = append(r.Width, measure.WidthOf(1, 0))
			weighted += p * k[b]
		}
		for range loudness.StepsPerSecond {
			r.StepPower = append(r.StepPower, weighted)
		}
	}
	r.LoudnessLUFS = loudness.Integrated(r.StepPower)
	return r
}

func flat(float64) float64 { return 0 }

func compare(t *testing.T, mix *measure.Recording, refs ...*measure.Recording) *Comparison {
	t.Helper()
	c, err := Compare(mix, refs, DefaultCompare())
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// through is a tone that one filter gives.
func through(f biquad.Filter) func(hz float64) float64 {
	return func(hz float64) float64 { return biquad.ResponseDB(nil, []biquad.Filter{f}, []float64{hz}, 44100)[0] }
}

func TestKnownMoveComesBack(t *testing.T) {
	bell := biquad.Filter{Shape: biquad.Bell, FreqHz: 450, GainDB: -4, Q: 1}
	r := compare(t, invented(1, 90, flat), invented(1, 90, through(bell))).Solve(
		SolveOptions{MaxMoves: 4, TowardPercent: 100, Equaliser: fit.Default()})
	if len(r.Moves) != 1 || !alike(r.Moves[0].Filter, bell) {
		t.Fatalf("moves %+v, want %+v", r.Moves, bell)
	}
	if got := r.Moves[0].Why; got.Reason != Off || got.DB > -2 || got.DB < -3 {
		t.Errorf("reason %+v, want the mean of a 4 dB bell between its half-gain points, over", got)
	}
	if r.DistanceAfterDB > 0.02 || r.DistanceBeforeDB < 0.5 {
		t.Errorf("distance %.3f then %.3f dB", r.DistanceBeforeDB, r.DistanceAfterDB)
	}
	// At equal loudness the moves with the trim are the whole difference.
	for b, d := range r.DifferenceDB {
		if math.Abs(d-r.FittedDB[b]) > 0.1 { // smoothing rounds the top of a bell
			t.Errorf("%.0f Hz: difference %.3f, moves and trim %.3f dB", spectrum.CentreHz(b), d, r.FittedDB[b])
		}
	}
	half := r.Comparison.Solve(SolveOptions{MaxMoves: 4, TowardPercent: 50, Equaliser: fit.Default()})
	if len(half.Moves) != 1 || math.Abs(half.Moves[0].GainDB+2) > 0.01 {
		t.Errorf("half of the way: %+v, want one move of −2 dB", half.Moves)
	}
}

// alike tells whether two filters have one shape and the same dials.
func alike(a, b biquad.Filter) bool {
	const tolerance = 1e-6 // of arithmetic
	return a.Shape == b.Shape && math.Abs(a.FreqHz/b.FreqHz-1) < tolerance &&
		math.Abs(a.GainDB-b.GainDB) < tolerance && math.Abs(a.Q-b.Q) < tolerance
}

// A low shelf and the opposite high shelf differ in level only; the one that one
// would dial is printed.
func TestShelvesAreDialledWhereTheyBelong(t *testing.T) {
	for _, f := range []biquad.Filter{
		{Shape: biquad.HighShelf, FreqHz: 4000, GainDB: 4, Q: biquad.QFromSlope(1, 4)},
		{Shape: biquad.LowShelf, FreqHz: 200, GainDB: -4, Q: biquad.QFromSlope(1, 4)},
	} {
		o := DefaultSolve()
		o.TowardPercent = 100
		r := compare(t, invented(1, 90, flat), invented(1, 90, through(f))).Solve(o)
		if len(r.Moves) != 1 || !alike(r.Moves[0].Filter, f) {
			t.Errorf("moves %+v, want %+v", r.Moves, f)
		}
	}
}

// What the dial of the other shelf does not reach stays where it is.
func TestShelvesStayOnTheirDials(t *testing.T) {
	o := DefaultSolve()
	o.TowardPercent = 100
	o.Equaliser = fit.Default()
	o.Equaliser.LowShelf.GainDB = fit.Dial{Min: -10, Max: 4, Step: 1}
	o.Equaliser.HighShelf.GainDB = o.Equaliser.LowShelf.GainDB
	for _, gainDB := range []float64{8, -8} {
		f := biquad.Filter{Shape: biquad.HighShelf, FreqHz: 4000, GainDB: gainDB, Q: biquad.QFromSlope(1, gainDB)}
		r := compare(t, invented(1, 90, flat), invented(1, 90, through(f))).Solve(o)
		if len(r.Moves) == 0 || r.DistanceAfterDB > 0.1 {
			t.Errorf("%g dB: moves %+v leave %.2f dB", gainDB, r.Moves, r.DistanceAfterDB)
		}
		for _, m := range r.Moves {
			if m.Shape != biquad.Bell && (m.GainDB < -10 || m.GainDB > 4) {
				t.Errorf("%g dB: shelf of %g dB", gainDB, m.GainDB)
			}
		}
	}
}

func TestNothingToDo(t *testing.T) {
	for name, ref := range map[string]*measure.Recording{
		"the same":             invented(1, 90, flat),
		"quieter":              invented(1, 90, func(float64) float64 { return -14 }),
		"a resampler's ripple": invented(1, 90, func(hz float64) float64 { return 0.01 * math.Sin(5*math.Log(hz)) }),
	} {
		for _, equaliser := range []fit.Equaliser{fit.Default(), unstepped()} {
			o := DefaultSolve()
			o.TowardPercent, o.Equaliser = 100, equaliser
			r := compare(t, invented(1, 90, flat), ref).Solve(o)
			if len(r.Moves) != 0 || r.TrimDB != 0 || r.DistanceAfterDB > 0.01 {
				t.Errorf("%s: %d moves, trim %g, distance %g", name, len(r.Moves), r.TrimDB, r.DistanceAfterDB)
			}
		}
	}
}

// unstepped is the default equaliser without steps.
func unstepped() fit.Equaliser {
	e := fit.Default()
	for _, a := range []*fit.ShapeLimits{&e.LowShelf, &e.Bell, &e.HighShelf} {
		a.FreqHz = fit.Dial{Min: 20, Max: 20000}
		a.GainDB.Step, a.Width.Step = 0, 0
	}
	return e
}

// A part of a song, or one with its own silence, is level with the whole everywhere.
func TestPartIsLevelWithTheWhole(t *testing.T) {
	song := invented(4, 120, func(hz float64) float64 { return -3 * math.Log2(hz/1000) })
	for name, ref := range map[string]*measure.Recording{
		"the end":   part(song, 60, 120),
		"the start": part(song, 0, 50),
	} {
		for _, pair := range [][2]*measure.Recording{{song, ref}, {ref, song}} {
			c := compare(t, pair[0], pair[1])
			if !c.SameSong[0] {
				t.Fatalf("%s is not found in the song", name)
			}
			for _, z := range c.Solve(DefaultSolve()).Zones {
				if !(math.Abs(z.DifferenceDB) < 0.01) {
					t.Errorf("%s: %s differ by %.2f dB", name, z.Name, z.DifferenceDB)
				}
			}
		}
	}
}

// No move has its corner where nothing is judged.
func TestMovesStayWhereItIsJudged(t *testing.T) {
	mix := invented(1, 90, flat)
	ref := invented(2, 90, func(hz float64) float64 { return 4 * math.Log2(hz/500) })
	ref.CutoffHz = 4000
	r := compare(t, mix, ref).Solve(SolveOptions{MaxMoves: 4, TowardPercent: 100, Equaliser: fit.Default()})
	low, high := r.JudgedHz()
	if high > 3500 || low < 39 || len(r.Moves) == 0 {
		t.Fatalf("judged %g to %g Hz, %d moves", low, high, len(r.Moves))
	}
	for _, m := range r.Moves {
		if m.FreqHz < low || m.FreqHz > high {
			t.Errorf("%v at %g Hz is outside %g to %g Hz", m.Shape, m.FreqHz, low, high)
		}
	}
}

func TestTooLittleInCommon(t *testing.T) {
	top := with(invented(1, 60, flat), func(r *measure.Recording) { r.CutoffHz = 30 })
	if _, err := Compare(invented(1, 60, flat), []*measure.Recording{top}, DefaultCompare()); err == nil {
		t.Error("a pair with nothing in common was compared")
	}
}

func TestZonesOnThirdOctaveEdges(t *testing.T) {
	// Exact third-octave edges of IEC 61260-1 in Hz, from public summaries.
	want := []float64{56.234, 177.828, 562.341, 1778.279, 5623.413, 11220.185}
	for i, hz := range want {
		if got := Zones()[i].HighHz; math.Abs(got-hz) > 0.001 || Zones()[i+1].LowHz != got {
			t.Errorf("border %d: %.3f Hz, want %.3f", i, got, hz)
		}
	}
}

func TestOptions(t *testing.T) {
	for _, o := range []CompareOptions{
		{SmoothOct: 0.2, RangeHz: [2]float64{40, 16000}}, {SmoothOct: 1, RangeHz: [2]float64{10, 16000}},
		{SmoothOct: 1, RangeHz: [2]float64{100, 150}}, {SmoothOct: math.NaN(), RangeHz: [2]float64{40, 16000}},
		{SmoothOct: 1, RangeHz: [2]float64{math.NaN(), 16000}},
	} {
		if o.Check() == nil {
			t.Errorf("%+v passes", o)
		}
	}
	for _, o := range []SolveOptions{{MaxMoves: -1}, {MaxMoves: 9}, {TowardPercent: 101}, {TowardPercent: math.NaN()}, {ExactMoves: true, LeastDB: 2}} {
		if o.Check() == nil {
			t.Errorf("%+v passes", o)
		}
	}
	if DefaultCompare().Check() != nil || DefaultSolve().Check() != nil {
		t.Error("a default does not pass")
	}
}
