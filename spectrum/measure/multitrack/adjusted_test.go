package multitrack

import (
	"context"
	"errors"
	"io"
	"math"
	"testing"

	"gonum.org/v1/gonum/floats"

	"toneplumb/biquad"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/internal/audiotest"
	"toneplumb/spectrum/memory"
)

// opened reads all of a source. The test fails if opening it returned an error.
func opened(t *testing.T, src audio.Source, err error) [][]float64 {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	defer src.Close()
	all := make([][]float64, src.Format().Channels)
	for {
		block := audio.NewBlock(len(all), 777)
		n, err := src.Read(block)
		if err == io.EOF {
			return all
		}
		if err != nil {
			t.Fatal(err)
		}
		for c := range all {
			all[c] = append(all[c], block[c][:n]...)
		}
	}
}

func sameFrames(t *testing.T, name string, got, want [][]float64) {
	t.Helper()
	if len(got) != len(want) || len(got[0]) != len(want[0]) {
		t.Fatalf("%s: %d channels of %d frames, want %d of %d", name, len(got), len(got[0]), len(want), len(want[0]))
	}
	for c := range want {
		for i, v := range want[c] {
			if math.Abs(got[c][i]-v) > 1e-9 { // rounding
				t.Fatalf("%s: channel %d frame %d is %g, want %g", name, c, i, got[c][i], v)
			}
		}
	}
}

func openerOf(rate int, x map[string][][]float64) Opener {
	return func(_ context.Context, path string) (audio.Source, error) {
		return &memory.Sound{RateHz: rate, X: x[path], Most: 1000}, nil
	}
}

// A mix with one track adjusted is the sum of the other tracks and the adjusted one.
func TestAdjusted(t *testing.T) {
	const rate = 44100
	a, mono := audiotest.Noise(1, rate, 3, -20), audiotest.Noise(2, rate, 2, -20)[:1]
	filter := []biquad.Filter{{Shape: biquad.Bell, FreqHz: 900, GainDB: 5, Q: 1}}
	master := []biquad.Filter{{Shape: biquad.LowShelf, FreqHz: 200, GainDB: -3, Q: 0.7}}
	gain := math.Pow(10, 4.0/20)
	mix, want, wet := audio.NewBlock(2, len(a[0])), audio.NewBlock(2, len(a[0])), audio.NewBlock(2, len(a[0]))
	for c := range mix {
		copy(wet[c], mono[0])
	}
	biquad.NewCascade(filter, rate, 2).Run(wet)
	for c := range mix {
		for i := range mix[c] {
			dry := 0.0
			if i < len(mono[0]) {
				dry = mono[0][i]
			}
			mix[c][i] = a[c][i] - 0.5*dry // it is in the mix inverted and at half its level
			want[c][i] = a[c][i] - 0.5*gain*wet[c][i]
		}
	}
	biquad.NewCascade(master, rate, 2).Run(want)
	open := openerOf(rate, map[string][][]float64{"mix": mix, "mono": mono})
	src, err := Adjusted(context.Background(), open, "mix", []Adjustment{{Path: "mono", Gain: -0.5, GainDB: 4, Filters: filter}}, master)
	sameFrames(t, "adjusted", opened(t, src, err), want)
	src, err = Adjusted(context.Background(), open, "mix", nil, nil)
	sameFrames(t, "as it is", opened(t, src, err), mix)
	// What is added to a mix is what it becomes less what it is, the side at its gain.
	stereo := audio.NewBlock(2, len(a[0]))
	for c := range stereo {
		for i := range stereo[c] {
			m, d := (a[0][i]+a[1][i])/2, (a[0][i]-a[1][i])/2
			stereo[c][i] = m*(gain-1) + d*(gain/2-1)*float64(1-2*c)
		}
	}
	open = openerOf(rate, map[string][][]float64{"mix": mix, "a": a})
	src, err = Changes(context.Background(), open, "mix", []Adjustment{{Path: "a", Gain: 1, GainDB: 4, SideDB: 20 * math.Log10(0.5)}})
	sameFrames(t, "added", opened(t, src, err), stereo)
}

// The sum is as long as the longest track, and stereo if any track is.
func TestSum(t *testing.T) {
	const rate = 44100
	a, mono := audiotest.Noise(1, rate, 1, -20), audiotest.Noise(2, rate, 2, -20)[:1]
	want := audio.NewBlock(2, len(mono[0]))
	for c := range want {
		copy(want[c], mono[0])
		for i, v := range a[c] {
			want[c][i] += v
		}
	}
	open := openerOf(rate, map[string][][]float64{"a": a, "mono": mono})
	src, err := Sum(context.Background(), open, []string{"mono", "a"})
	if err == nil && src.Format().Frames != -1 { // as those of its parts
		t.Errorf("%d frames announced", src.Format().Frames)
	}
	sameFrames(t, "sum", opened(t, src, err), want)
	_, err = Sum(context.Background(), func(_ context.Context, path string) (audio.Source, error) {
		return &memory.Sound{RateHz: map[string]int{"a": rate, "mono": 48000}[path], X: a, Most: 1000}, nil
	}, []string{"a", "mono"})
	var e *audio.Error
	if !errors.As(err, &e) || e.Path != "mono" {
		t.Errorf("another rate: %v", err)
	}
}

// A late track is shifted back by its delay if it then fits the mix.
func TestRealign(t *testing.T) {
	const rate, late = 44100, 529 // 12 ms
	a, b := audiotest.Noise(1, rate, 6, -20), audiotest.Noise(2, rate, 6, -20)
	shift := func(x [][]float64, frames int) [][]float64 {
		y := audio.NewBlock(2, len(x[0]))
		for c := range x {
			if frames > 0 {
				copy(y[c][frames:], x[c])
			} else {
				copy(y[c], x[c][-frames:])
			}
		}
		return y
	}
	mix := audio.NewBlock(2, len(a[0]))
	for c := range mix {
		for i := range mix[c] {
			mix[c][i] = a[c][i] + b[c][i]
		}
	}
	gate := []float64{1, 1, 1, 1, 1, 1}
	for _, frames := range []int{late, -late} {
		open := openerOf(rate, map[string][][]float64{"mix": mix, "a": a, "b": shift(b, frames)})
		together, err := Measure(context.Background(), open, "mix", gate, []string{"a", "b"}, 1)
		if err != nil {
			t.Fatal(err)
		}
		shifts, err := together.Realign(context.Background(), open, "mix", 1)
		if err != nil {
			t.Fatal(err)
		}
		if len(shifts) != 1 || shifts["b"] != frames {
			t.Fatalf("shifts %v, want b by %d", shifts, frames)
		}
		if got, want := together.Tracks[1].ShiftedSec, float64(frames)/rate; math.Abs(got-want) > 1e-12 || together.Tracks[0].ShiftedSec != 0 {
			t.Errorf("shifted by %g s, want %g", got, want)
		}
		p, re := floats.Sum(together.Tracks[1].Power), floats.Sum(together.Tracks[1].Re)
		if math.Abs(re/p-1) > 0.02 { // chance over 6 s
			t.Errorf("%.3f of the track runs with the mix", re/p)
		}
		src, err := Shifted(open, shifts)(context.Background(), "b")
		if got := opened(t, src, err); math.Abs(got[0][1000]-b[0][1000]) > 1e-12 {
			t.Error("the opener does not shift")
		}
	}
}
