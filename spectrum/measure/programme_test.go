package measure

import (
	"math"
	"testing"

	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/testkit"
)

// tones returns that many seconds of a sine in each channel, at levels in dB re full scale.
func tones(rateHz int, hz float64, seconds float64, levelDB ...float64) [][]float64 {
	x := audio.NewBlock(len(levelDB), int(seconds*float64(rateHz)))
	for c, db := range levelDB {
		for i := range x[c] {
			x[c][i] = math.Pow(10, db/20) * math.Sin(2*math.Pi*hz*float64(i)/float64(rateHz))
		}
	}
	return x
}

// Signal 1 of EBU Tech 3341 and those of Tech 3342, measured through the table. With more
// than two channels the loudness is that of the front pair, and the true peak that of all
// channels. Signal 6 (5.0; L R −28, C −24, Ls Rs −30 dBFS) has −23 LUFS, see package
// loudness, and its front pair −28 LUFS.
func TestWhole(t *testing.T) {
	testkit.Skip(t, "measures long programmes")
	const toleranceLU, rangeLU, peakDB = 0.05, 0.5, 0.1 // half the documents' tolerances
	const rate = 48000
	long := func(levels ...float64) [][]float64 {
		x := [][]float64{nil, nil}
		for _, db := range levels {
			part := tones(rate, 1000, 20, db, db)
			x[0], x[1] = append(x[0], part[0]...), append(x[1], part[1]...)
		}
		return x
	}
	for _, c := range []struct {
		name                            string
		x                               [][]float64
		whole, rangeLU, loudest, peakDB float64
	}{
		{"stereo", tones(rate, 1000, 20, -23, -23), -23, 0, -23, -23},
		{"5.0", tones(rate, 1000, 20, -28, -28, -24, -30, -30), -28, 0, -28, -24},
		{"5.1, all in the effects channel but a little", tones(rate, 1000, 20, -40, -40, -200, -3, -200, -200), -40, 0, -40, -3},
		{"range 10", long(-20, -30), -22.6, 10, -20, -20}, // 10·log10((1 + 0.1)/2) below −20
		{"range 20", long(-40, -20), -20, 20, -20, -20},
		{"mono, 3.01 dB below what two would be", tones(rate, 1000, 3, -20), -23.01, 0, -23.01, -20},
	} {
		r := measured(t, rate, c.x)
		for _, f := range []struct {
			name                 string
			got, want, tolerance float64
		}{
			{"whole", r.WholeLUFS, c.whole, toleranceLU},
			{"of the counted passages", r.LoudnessLUFS, c.whole, toleranceLU},
			{"range", r.RangeLU, c.rangeLU, rangeLU},
			{"loudest 400 ms", r.MomentaryMaxLUFS, c.loudest, toleranceLU},
			{"loudest 3 s", r.ShortTermMaxLUFS, c.loudest, toleranceLU},
			{"true peak", r.TruePeakDBTP, c.peakDB, peakDB},
			{"peak to loudness", r.PeakToLoudnessDB(), c.peakDB - c.whole, peakDB + toleranceLU},
		} {
			if !(math.Abs(f.got-f.want) <= f.tolerance) {
				t.Errorf("%s: %s: got %.3f, want %g ± %g", c.name, f.name, f.got, f.want, f.tolerance)
			}
		}
		if !r.Valid() || (Programme{}).Valid() {
			t.Errorf("%s: what is known and what is not are told apart wrongly", c.name)
		}
		part, err := r.Part(Passages{{0, 3}})
		if err != nil {
			t.Fatal(err)
		}
		if part.Programme != r.Programme {
			t.Errorf("%s: a part changes the whole: %+v, %+v", c.name, part.Programme, r.Programme)
		}
	}
	if w := programmeOf(make([]float64, 10), loudness.FloorDBTP); w != (Programme{WholeLUFS: loudness.FloorDBTP, MomentaryMaxLUFS: loudness.FloorDBTP, ShortTermMaxLUFS: loudness.FloorDBTP, TruePeakDBTP: loudness.FloorDBTP}) {
		t.Errorf("silence: %+v", w)
	}
}
