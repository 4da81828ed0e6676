package match

import (
	"math"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/align"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure"
)

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

// A part of one side narrows the other too if it is the mix's own song, and no other reference.
func TestUsed(t *testing.T) {
	song, other := invented(1, 90, flat), invented(2, 90, flat)
	late := part(song, 5, 90)
	for _, row := range []struct {
		name  string
		parts Parts
		refs  []*measure.Recording
		want  []string
	}{
		{"two songs", Parts{Mix: measure.Passages{{10, 40}}}, []*measure.Recording{other}, []string{"0:10-0:40", "0:00-1:30"}},
		{"a late copy", Parts{}, []*measure.Recording{late}, []string{"0:05-1:30", "0:00-1:25"}},
		{"passages of the mix", Parts{Mix: measure.Passages{{0, 20}, {30, 60}}}, []*measure.Recording{late, other}, []string{"0:00-0:20, 0:30-1:00", "0:00-0:15, 0:25-0:55", "0:00-1:30"}},
		{"a passage of the copy", Parts{Reference: measure.Passages{{10, 40}}}, []*measure.Recording{late}, []string{"0:15-0:45", "0:10-0:40"}},
	} {
		mix, refs, _, err := row.parts.Apply(song, row.refs)
		if err != nil {
			t.Fatal(err)
		}
		c := compare(t, mix, refs...)
		for side, want := range row.want {
			if got := c.Used(side).String(); got != want {
				t.Errorf("%s, side %d: %s, want %s", row.name, side, got, want)
			}
		}
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
