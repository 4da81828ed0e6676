package masking

import (
	"math"
	"testing"

	"toneplumb/spectrum"
)

// Well-known values of the formulas: the threshold in quiet is lowest between 3 and 4 kHz,
// about −5 dB, near 23 dB at 100 Hz and 3 dB at 1 kHz; critical bands are about 100 Hz wide below 500 Hz
// and a fifth of the frequency above (Zwicker and Fastl, chapter 6, from memory).
func TestFormulas(t *testing.T) {
	lowest, at := math.Inf(1), 0.0
	for hz := 50.0; hz < 15000; hz *= 1.02 {
		if q := QuietDBSPL(hz); q < lowest {
			lowest, at = q, hz
		}
	}
	if at < 3000 || at > 4000 || math.Abs(lowest+5) > 0.5 {
		t.Errorf("the threshold in quiet is lowest at %.0f Hz, %.1f dB", at, lowest)
	}
	for hz, want := range map[float64]float64{100: 23, 1000: 3.4} {
		if q := QuietDBSPL(hz); math.Abs(q-want) > 0.5 {
			t.Errorf("%.0f Hz: %.1f dB, want %.1f", hz, q, want)
		}
	}
	for hz, wide := range map[float64]float64{250: 100, 1000: 160, 4000: 700} {
		if z := Bark(hz+wide/2) - Bark(hz-wide/2); math.Abs(z-1) > 0.15 {
			t.Errorf("%.0f Hz at %.0f Hz are %.2f Bark", wide, hz, z)
		}
	}
	if z := Bark(15500); math.Abs(z-24) > 0.3 {
		t.Errorf("15.5 kHz are %.1f Bark", z)
	}
}

// A masker spreads further upwards than downwards, and further the louder it is. The
// spreading function is continuous except at the ends of its range.
func TestSpread(t *testing.T) {
	for _, level := range []float64{30, 60, 90} {
		for dz := -2.9; dz < 7.9; dz += 0.1 {
			if step := math.Abs(spreadDB(dz+0.1, level) - spreadDB(dz, level)); step > 5 {
				t.Errorf("%g dB: a step of %.1f dB at %.1f Bark", level, step, dz)
			}
		}
		if spreadDB(0, level) != 0 || spreadDB(-2, level) > spreadDB(2, level) {
			t.Errorf("%g dB: %.1f dB two Bark down, %.1f up", level, spreadDB(-2, level), spreadDB(2, level))
		}
	}
	if spreadDB(3, 90) <= spreadDB(3, 50) {
		t.Error("a louder masker spreads no further up")
	}
}

func flat(factor float64) []float64 {
	x := make([]float64, spectrum.BandCount)
	for b := range x {
		x[b] = factor
	}
	return x
}

// Tests on pink noise (equal power in every band): a larger change is more audible, at any
// level of the noise, and a change where there is no sound is not audible.
func TestChange(t *testing.T) {
	pink := make([]float64, spectrum.BandCount)
	louder := make([]float64, spectrum.BandCount)
	noTop := make([]float64, spectrum.BandCount)
	for b := range pink {
		pink[b], louder[b] = 1, 100
		if spectrum.CentreHz(b) < 3000 {
			noTop[b] = 1
		}
	}
	bump := func(hz, db float64) []float64 {
		x := flat(1)
		for b := range x {
			if math.Abs(math.Log2(spectrum.CentreHz(b)/hz)) < 0.5 {
				x[b] = spectrum.DBToPower(db)
			}
		}
		return x
	}
	s := New(pink)
	last := Audible{OverDB: math.Inf(-1)}
	for _, db := range []float64{0.1, 1, 3, 6} {
		a := s.Change(bump(1000, db))
		if a.OverDB <= last.OverDB || a.ChangeDB <= last.ChangeDB {
			t.Errorf("%g dB: %+v, less %+v", db, a, last)
		}
		last = a
	}
	if a := New(louder).Change(bump(1000, 6)); math.Abs(a.OverDB-last.OverDB) > 1e-9 {
		t.Errorf("the level of the file counts: %+v, %+v", a, last)
	}
	// A level that steps by 1 dB all over is just heard; an octave's change excites by as much
	// where it is, spreading apart.
	if a := s.Change(flat(spectrum.DBToPower(1))); math.Abs(a.ChangeDB-1) > 1e-9 || math.Abs(a.ExcitationDB-1) > 0.1 {
		t.Errorf("1 dB all over: %+v", a)
	}
	if a := s.Change(bump(1000, 6)); math.Abs(a.ExcitationDB-6) > 0.5 {
		t.Errorf("6 dB at 1 kHz: %+v", a)
	}
	if a := s.Change(bump(1000, -6)); a.ExcitationDB > 6 || a.ExcitationDB < 4 { // neighbours fill the hole
		t.Errorf("−6 dB at 1 kHz: %+v", a)
	}
	if a := New(noTop).Change(bump(8000, 12)); a.OverDB > -20 || a.ChangeDB > 0.01 || a.ExcitationDB > 0.01 {
		t.Errorf("where there is no sound: %+v", a)
	}
	if a := New(make([]float64, spectrum.BandCount)).Change(bump(1000, 6)); a.OverDB > 0 || a.ChangeDB != 0 {
		t.Errorf("silence: %+v", a)
	}
}
