package match

import (
	"math"
	"math/rand/v2"
	"testing"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/spectrum"
	"toneplumb/spectrum/align"
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

func TestLeftOut(t *testing.T) {
	wall := func(hz float64) float64 {
		if hz > 5000 {
			return -90
		}
		return 0
	}
	floor := func(hz float64) float64 {
		if hz > 2000 && hz < 3000 {
			return -30
		}
		return 0
	}
	noLows := func(hz float64) float64 {
		if hz < 50 {
			return -20
		}
		return 0
	}
	for _, c := range []struct {
		name   string
		r      *measure.Recording
		hz     float64
		reason Exclusion
	}{
		{"plain", invented(1, 60, flat), 1000, Exclusion{}},
		{"plain, low end", invented(1, 60, flat), 45, Exclusion{}},
		{"plain, top", invented(1, 60, flat), 19900, Exclusion{}},
		{"weak", invented(1, 60, wall), 8000, Exclusion{Cause: NoiseFloor}},
		{"weak elsewhere", invented(1, 60, wall), 1000, Exclusion{}},
		{"16 bit, quiet", with(invented(1, 60, func(hz float64) float64 { return floor(hz) - 35 }), func(r *measure.Recording) { r.Format.Bits = 16 }), 2500, Exclusion{Cause: NoiseFloor}},
		{"24 bit, as quiet", invented(1, 60, func(hz float64) float64 { return floor(hz) - 35 }), 2500, Exclusion{}},
		{"no lows", invented(1, 60, noLows), 42, Exclusion{NoLows, Side{}, spectrum.EdgeHz(bandAt(50) + 1)}},
		{"rumble below a gap", invented(1, 60, func(hz float64) float64 {
			if hz > 45 && hz < 62 {
				return -40
			}
			return 0
		}), 40.3, Exclusion{NoLows, Side{}, spectrum.EdgeHz(bandAt(62))}},
		{"no lows, above", invented(1, 60, noLows), 70, Exclusion{}},
		{"cut off", with(invented(1, 60, flat), func(r *measure.Recording) { r.CutoffHz = 16500 }), 15700, Exclusion{StopsThere, Side{}, 16500}},
		{"cut off, a twelfth of an octave below", with(invented(1, 60, flat), func(r *measure.Recording) { r.CutoffHz = 16500 }), 15200, Exclusion{}},
		{"low rate", with(invented(1, 60, flat), func(r *measure.Recording) { r.Format.RateHz = 22050 }), 10200, Exclusion{SampleRate, Side{}, 22050}},
	} {
		why := leftOut(Side{}, c.r, c.r.MeanPower(nil))
		got := why[bandAt(c.hz)]
		if got != c.reason {
			t.Errorf("%s, %g Hz: %+v, want %+v", c.name, c.hz, got, c.reason)
		}
	}
}

func with(r *measure.Recording, change func(*measure.Recording)) *measure.Recording {
	change(r)
	return r
}

func bandAt(hz float64) int {
	for b := range spectrum.BandCount {
		if hz < spectrum.EdgeHz(b+1) {
			return b
		}
	}
	return spectrum.BandCount - 1
}

func TestLeftOutNeverReachesTheFit(t *testing.T) {
	// The reference ends at 16.5 kHz as lossy coding leaves it; what is above
	// must not pull a high shelf.
	lossy := with(invented(1, 90, func(hz float64) float64 {
		if hz > 15700 {
			return -40
		}
		return 0
	}), func(r *measure.Recording) { r.CutoffHz = 16500 })
	r := compare(t, invented(1, 90, flat), lossy).Solve(DefaultSolve())
	for hz, left := range map[float64]bool{13500: false, 13950: true, 16000: true} { // a quarter octave below
		if got := r.LeftOut[bandAt(hz)].Cause != Kept; got != left {
			t.Errorf("%g Hz is left out: %v", hz, got)
		}
	}
	if len(r.Moves) != 0 {
		t.Errorf("moves %+v, want none", r.Moves)
	}
	if low := find[LowPass](r.Warnings); len(low) != 1 || low[0].Hz[0] != (Figure{Side{1, 1}, 16500}) || math.Abs(low[0].JudgedToHz-13725) > 1 {
		t.Errorf("findings %+v, want the low-pass of the reference, judged to 13.7 kHz", r.Warnings)
	}
}

func TestSameSong(t *testing.T) {
	song := invented(1, 120, flat)
	equalised := invented(1, 120, through(biquad.Filter{Shape: biquad.LowShelf, FreqHz: 200, GainDB: 6, Q: 0.7}))
	for _, c := range []struct {
		name string
		ref  *measure.Recording
		same bool
		lag  float64
	}{
		{"equalised", equalised, true, 0},
		{"starts 20 s later", part(song, 20, 120), true, 20},
		{"ends early", part(song, 0, 70), true, 0},
		{"another", invented(2, 120, flat), false, 0},
		{"steady noise", steady(120), false, 0},
	} {
		got := align.Levels(song, c.ref, song.GateWeights(), c.ref.GateWeights())
		if got.Same != c.same || c.same && got.LagSec != c.lag {
			t.Errorf("%s: %+v, want %v at %g s", c.name, got, c.same, c.lag)
		}
	}
	if got := align.Levels(steady(120), steady(120), steady(120).GateWeights(), steady(120).GateWeights()); got.Same {
		t.Error("two steady noises count as one song")
	}
}

// Two songs that end in the same silence are not the same song.
func TestSharedSilenceIsNoLikeness(t *testing.T) {
	a, b := silentFrom(invented(1, 120, flat), 100), silentFrom(invented(2, 120, flat), 100)
	if got := align.Levels(a, b, a.GateWeights(), b.GateWeights()); got.Same {
		t.Errorf("%+v: songs with one silent tail count as the same", got)
	}
}

// part is a recording of the seconds from…to.
func part(r *measure.Recording, from, to int) *measure.Recording {
	p := *r
	p.Rows, p.DurationSec = to-from, float64(to-from)
	p.Power = r.Power[from*spectrum.BandCount : to*spectrum.BandCount]
	p.OctavePower = r.OctavePower[from*spectrum.WindowsPerSecond*measure.Octaves : to*spectrum.WindowsPerSecond*measure.Octaves]
	p.StepPower = r.StepPower[from*loudness.StepsPerSecond : to*loudness.StepsPerSecond]
	p.LoudnessLUFS = loudness.Integrated(p.StepPower)
	return &p
}

// steady is noise whose level never moves.
func steady(seconds int) *measure.Recording {
	r := invented(1, seconds, flat)
	for i := range r.OctavePower {
		r.OctavePower[i] = r.OctavePower[i%measure.Octaves]
	}
	return r
}

func silentFrom(r *measure.Recording, second int) *measure.Recording {
	clear(r.Power[second*spectrum.BandCount:])
	clear(r.OctavePower[second*spectrum.WindowsPerSecond*measure.Octaves:])
	clear(r.StepPower[second*loudness.StepsPerSecond:])
	return r
}

func TestGateTogether(t *testing.T) {
	mix, ref := align.GateTogether([]float64{1, 1, 0, 1}, []float64{0, 1, 1, 1}, 1)
	// Second s of the mix is second s−1 of the reference.
	wantMix, wantRef := []float64{0, 0, 0, 1}, []float64{0, 0, 1, 0}
	for s := range mix {
		if mix[s] != wantMix[s] || ref[s] != wantRef[s] {
			t.Fatalf("got %v and %v, want %v and %v", mix, ref, wantMix, wantRef)
		}
	}
	mix, _ = align.GateTogether([]float64{1, 1, 1}, []float64{1, 1, 1}, -0.25)
	if mix[0] != 1 || mix[2] != 0.75 {
		t.Errorf("a quarter second early: %v, want 0.75 of the last second", mix)
	}
}

// Several references: the mean of their dB, left out where any says nothing.
func TestSeveralReferences(t *testing.T) {
	up := invented(2, 90, func(hz float64) float64 { return 3 * math.Log2(hz/1000) })
	down := invented(3, 90, func(hz float64) float64 { return -3 * math.Log2(hz/1000) })
	down.CutoffHz = 12000
	c := compare(t, invented(1, 90, flat), up, down)
	one, other := compare(t, invented(1, 90, flat), up), compare(t, invented(1, 90, flat), down)
	if why := c.LeftOut[bandAt(11000)]; why != (Exclusion{StopsThere, Side{2, 2}, 12000}) {
		t.Errorf("11 kHz: %+v", why)
	}
	// The level is taken over the bands all have, so compare two bands of each.
	rise := func(c *Comparison) float64 { return c.DifferenceDB[bandAt(3000)] - c.DifferenceDB[bandAt(200)] }
	if got, want := rise(c), (rise(one)+rise(other))/2; math.Abs(got-want) > 1e-9 {
		t.Errorf("200 Hz to 3 kHz: %g dB, want %g", got, want)
	}
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

func TestLeftOutSpans(t *testing.T) {
	stops, floor := Exclusion{StopsThere, Side{1, 1}, 16500}, Exclusion{Cause: NoiseFloor}
	c := &Comparison{Options: DefaultCompare(), LeftOut: make([]Exclusion, spectrum.BandCount)}
	for b := range c.LeftOut {
		if spectrum.CentreHz(b) > 13900 {
			c.LeftOut[b] = stops
		}
	}
	c.LeftOut[bandAt(50)], c.LeftOut[bandAt(40.3)] = floor, Exclusion{Cause: NoLows}
	spans := c.LeftOutSpans()
	if len(spans) != 3 || spans[0].Why.Cause != OutsideRange || spans[1].Why != floor || spans[2].Why != stops {
		t.Fatalf("spans %+v", spans)
	}
	if spans[0].LowHz != spectrum.EdgeHz(0) || math.Abs(spans[0].HighHz-41) > 0.1 || spans[2].HighHz != spectrum.EdgeHz(spectrum.BandCount) {
		t.Errorf("spans %+v", spans)
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
