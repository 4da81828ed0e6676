package multitrack

import (
	"context"
	"errors"
	"math"
	"sync/atomic"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/internal/audiotest"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/memory"
)

// The result equals a measurement of the filtered sound itself, with a mono track, inverted
// and at half its level, in a stereo mix, and a stereo track that ends early.
func TestFiltered(t *testing.T) {
	const rate = 44100
	mix, mono, short := audiotest.Noise(1, rate, 8, -20), audiotest.Noise(2, rate, 8, -20)[:1], audiotest.Noise(3, rate, 5, -20)
	filter := biquad.Filter{Shape: biquad.LowShelf, FreqHz: 60, GainDB: -9, Q: math.Sqrt2 / 2}
	gains := []float64{-0.5, 1}
	trims := []float64{6, -3}
	after, trimmed := audio.NewBlock(2, len(mix[0])), audio.NewBlock(2, len(mix[0]))
	add := func(x [][]float64, gain, trimDB float64) (wet [][]float64) {
		wet = audio.NewBlock(2, len(mix[0]))
		for c := range wet {
			copy(wet[c], x[min(c, len(x)-1)])
		}
		biquad.NewCascade([]biquad.Filter{filter}, rate, 2).Run(wet)
		for c := range wet {
			for i := range wet[c] {
				dry := 0.0
				if y := x[min(c, len(x)-1)]; i < len(y) {
					dry = y[i]
				}
				after[c][i] += gain * (wet[c][i] - dry)
				trimmed[c][i] += gain * (wet[c][i]*math.Pow(10, trimDB/20) - dry)
			}
		}
		return wet
	}
	for c := range after {
		copy(after[c], mix[c])
		copy(trimmed[c], mix[c])
	}
	wetMono := add(mono, gains[0], trims[0])
	add(short, gains[1], trims[1])

	gate := []float64{1, 1, 0, 1, 1, 1, 1, 0.5}
	want, wantTrimmed := measured(t, rate, after).MeanPower(gate), measured(t, rate, trimmed).MeanPower(gate)
	open := func(_ context.Context, path string) (audio.Source, error) {
		return &memory.Sound{RateHz: rate, X: map[string][][]float64{"mix": mix, "mono": mono, "short": short}[path], Most: 1000}, nil
	}
	together := &Table{RateHz: rate, Gate: gate}
	changes := []TrackFilter{{Tracks: []string{"mono", "short"}, Gains: gains, TrimsDB: trims, Filters: []biquad.Filter{filter}}, {Tracks: []string{"mono"}, Gains: []float64{1}}}
	got, err := together.MeasureFilters(context.Background(), open, "mix", changes, 2)
	if err != nil {
		t.Fatal(err)
	}
	const toleranceDB = 0.1 // the odd bins above 1 kHz, which recordings are measured without; on noise of 8 s
	for b := range want {
		if db := spectrum.PowerToDB(got[0].MixPower[b] / want[b]); !(math.Abs(db) < toleranceDB) {
			t.Errorf("%.0f Hz: %.3f dB from the filtered sound", spectrum.CentreHz(b), db)
		}
		if db := spectrum.PowerToDB(got[0].TrimmedPower[b] / wantTrimmed[b]); !(math.Abs(db) < toleranceDB) {
			t.Errorf("%.0f Hz: %.3f dB from the filtered and trimmed sound", spectrum.CentreHz(b), db)
		}
	}
	meter := loudness.NewMeter(rate, 2)
	meter.Add(wetMono)
	if lu := loudness.Integrated(got[0].StepPower[0]) - loudness.Integrated(meter.Steps()); math.Abs(lu) > 1e-6 {
		t.Errorf("a track is %.6f LU from its filtered sound", lu)
	}
	plain := measured(t, rate, mix).MeanPower(gate)
	for b := range plain {
		if db := spectrum.PowerToDB(got[1].MixPower[b] / plain[b]); !(math.Abs(db) < toleranceDB) {
			t.Errorf("%.0f Hz: no filter changes %.3f dB", spectrum.CentreHz(b), db)
		}
	}

	stopped, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := together.MeasureFilters(stopped, open, "mix", changes, 1); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	gone := errors.New("gone")
	missing := func(ctx context.Context, path string) (audio.Source, error) {
		if path == "short" {
			return nil, gone
		}
		return open(ctx, path)
	}
	if _, err := together.MeasureFilters(context.Background(), missing, "mix", changes, 1); !errors.Is(err, gone) {
		t.Errorf("a missing track: %v", err)
	}
}

// Each goroutine gets the same number of groups, and the mix is opened once for each group.
func TestGroups(t *testing.T) {
	x := audiotest.Noise(1, 8000, 1, -20)
	for _, c := range []struct{ tracks, goroutines, groups int }{{1, 2, 1}, {2, 2, 2}, {8, 1, 1}, {9, 1, 2}, {40, 2, 6}, {40, 4, 8}, {3, 8, 3}} {
		var opened atomic.Int32
		open := func(_ context.Context, path string) (audio.Source, error) {
			if path == "mix" {
				opened.Add(1)
			}
			return &memory.Sound{RateHz: 8000, X: x, Most: 4000}, nil
		}
		together, err := Measure(context.Background(), open, "mix", []float64{1}, make([]string, c.tracks), c.goroutines)
		if err != nil || len(together.Tracks) != c.tracks {
			t.Fatalf("%+v: %v", c, err)
		}
		if n := int(opened.Load()); n != c.groups {
			t.Errorf("%d tracks on %d: %d groups, want %d", c.tracks, c.goroutines, n, c.groups)
		}
	}
}

// Zero goroutines panic: nothing would ever be read.
func TestNoGoroutines(t *testing.T) {
	open := func(context.Context, string) (audio.Source, error) { return nil, errors.New("opened") }
	for name, call := range map[string]func(){
		"Measure":        func() { Measure(context.Background(), open, "mix", nil, []string{"track"}, 0) },
		"MeasureFilters": func() { new(Table).MeasureFilters(context.Background(), open, "mix", make([]TrackFilter, 1), 0) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s does not panic", name)
				}
			}()
			call()
		}()
	}
}
