package measure

import (
	"math"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/internal/audiotest"
)

func TestBlocksSumToTheMean(t *testing.T) {
	r := measured(t, 11025, audiotest.Noise(5, 11025, 37.4, -20))
	weights := r.GateWeights()
	weights[3], weights[20] = 0.25, 0
	want := r.MeanPower(weights)
	for _, from := range []float64{0, -3, -8, -2.5, -0.3} {
		sum, total := make([]float64, spectrum.BandCount), 0.0
		blocks := r.Blocks(weights, from, BlockSec)
		for _, b := range blocks {
			total += b.Weight
			for i, p := range b.Power {
				sum[i] += p
			}
		}
		if n := int(math.Ceil((float64(r.Rows) - from) / BlockSec)); len(blocks) != n {
			t.Errorf("from %g: %d blocks, want %d", from, len(blocks), n)
		}
		for i := range sum {
			if math.Abs(sum[i]/total/want[i]-1) > 1e-12 { // one sum in two orders
				t.Fatalf("from %g: band %d is %g, want %g", from, i, sum[i]/total, want[i])
			}
		}
	}
}

// The table predicted for a response against the table of the filtered sound.
func TestThrough(t *testing.T) {
	const (
		rate = 44100
		// Within a band of 1/24 octave the response is taken at its centre, 0.02 dB off
		// for these filters.
		toleranceDB = 0.03
		toleranceLU = 0.06 // that of TestStepPowerThrough
	)
	filters := []biquad.Filter{
		{Shape: biquad.LowShelf, FreqHz: 150, GainDB: 5, Q: 0.7},
		{Shape: biquad.Bell, FreqHz: 2500, GainDB: -5, Q: 0.8},
	}
	x := audiotest.Noise(6, rate, 20, -10)
	biquad.NewCascade([]biquad.Filter{{Shape: biquad.HighCut, FreqHz: 300, CutDBPerOct: 6}}, rate, 2).Run(x) // as music falls
	r := measured(t, rate, x)
	gain := biquad.ResponseDB(nil, filters, spectrum.Centres(), rate)
	for b, db := range gain {
		gain[b] = spectrum.DBToPower(db)
	}
	got := r.Through(gain)
	biquad.NewCascade(filters, rate, 2).Run(x)
	want := measured(t, rate, x)
	a, b := got.MeanPower(nil), want.MeanPower(nil)
	for i := range a {
		if hz := spectrum.CentreHz(i); hz > 40 && math.Abs(spectrum.PowerToDB(a[i]/b[i])) > toleranceDB {
			t.Errorf("%.0f Hz: %.3f dB from filtering the sound", hz, spectrum.PowerToDB(a[i]/b[i]))
		}
	}
	if math.Abs(got.LoudnessLUFS-want.LoudnessLUFS) > toleranceLU {
		t.Errorf("%.3f LUFS, filtered %.3f", got.LoudnessLUFS, want.LoudnessLUFS)
	}
	if got.StepPeak != nil {
		t.Error("peaks that nobody measured")
	}
	if twice := got.Through(gain); twice.OwnLUFS() != r.LoudnessLUFS || twice.LoudnessLUFS == r.LoudnessLUFS {
		t.Errorf("%.3f and %.3f LUFS, as read %.3f", twice.OwnLUFS(), twice.LoudnessLUFS, r.LoudnessLUFS)
	}
	part := Passages{{2, 7}} // before or after, the same seconds of the file
	as, err1 := r.Part(part)
	late, err2 := got.Part(part)
	if err1 != nil || err2 != nil || late.OwnLUFS() != as.LoudnessLUFS || as.Through(gain).OwnLUFS() != as.LoudnessLUFS {
		t.Errorf("a part: %.3f LUFS, as read %.3f (%v, %v)", late.OwnLUFS(), as.LoudnessLUFS, err1, err2)
	}
}
