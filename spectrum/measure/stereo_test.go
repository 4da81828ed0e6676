package measure

import (
	"math"
	"testing"

	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/internal/audiotest"
)

// Width and mono loss of noise with known mid and side.
func TestStereo(t *testing.T) {
	const rate = 44100
	const toleranceDB = 0.25 // 20 s of noise in the 160 Hz of sub and lows: sd of the ratio 0.11 dB
	for _, c := range []struct {
		name         string
		mid, side    float64 // amplitudes
		over, lostDB float64 // 20·log10(mid/side), 10·log10(1 + side²/mid²)
	}{
		{"unrelated channels", 1, 1, 0, 3.0103},
		{"typical stereo", 1, 0.2, 13.979, 0.1703},
		{"out of phase", 0.2, 1, -13.979, 14.150},
	} {
		m, s := audiotest.Noise(1, rate, 20, -20), audiotest.Noise(2, rate, 20, -20)
		x := audio.NewBlock(2, len(m[0]))
		for i := range x[0] {
			x[0][i], x[1][i] = c.mid*m[0][i]+c.side*s[0][i], c.mid*m[0][i]-c.side*s[0][i]
		}
		r := measured(t, rate, x)
		stereo := r.Stereo()
		if over := stereo.MidOverSideDB(20, 178); math.Abs(over-c.over) > toleranceDB {
			t.Errorf("%s: mid %.3f dB over side, want %.3f", c.name, over, c.over)
		}
		if lost := stereo.MonoLossDB(20, 178); math.Abs(lost-c.lostDB) > toleranceDB {
			t.Errorf("%s: %.3f dB lost in mono, want %.3f", c.name, lost, c.lostDB)
		}
		mid, side := r.Mid().MeanPower(r.GateWeights()), r.Side().MeanPower(r.GateWeights())
		const single = 1e-4 // of what is left of two numbers of single precision
		for b := range mid {
			if math.Abs(mid[b]/stereo.Mid[b]-1) > single || math.Abs(side[b]/stereo.Side[b]-1) > single {
				t.Fatalf("%s, band %d: mid %g and side %g, want %g and %g", c.name, b, mid[b], side[b], stereo.Mid[b], stereo.Side[b])
			}
		}
	}
	if silent := (Stereo{make([]float64, spectrum.BandCount), make([]float64, spectrum.BandCount)}); !math.IsNaN(silent.MidOverSideDB(20, 178)) || !math.IsNaN(silent.MonoLossDB(20, 178)) {
		t.Error("silence has a width")
	}
}
