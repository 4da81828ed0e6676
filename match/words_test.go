package match

import (
	"math"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum/measure"
)

// A reason names the side the move takes away from, and never another.
func TestReasons(t *testing.T) {
	shelf := func(shape biquad.Shape, hz, gainDB float64) biquad.Filter {
		return biquad.Filter{Shape: shape, FreqHz: hz, GainDB: gainDB, Q: 0.7}
	}
	up := invented(1, 90, through(shelf(biquad.HighShelf, 3000, 5)))
	other := invented(7, 90, through(shelf(biquad.HighShelf, 3000, 5)))
	c := compare(t, invented(1, 90, flat), up)
	several := compare(t, invented(1, 90, flat), up, other)
	for _, row := range []struct {
		name string
		c    *Comparison
		all  []biquad.Filter // the first is asked about
		want string
	}{
		{"under", c, []biquad.Filter{shelf(biquad.HighShelf, 6300, 3)}, "above 6.3 kHz 3.5 dB under the reference"},
		{"over", c, []biquad.Filter{shelf(biquad.LowShelf, 200, -3)}, "below 200 Hz 1.4 dB over the reference"},
		{"more than the difference", c, []biquad.Filter{shelf(biquad.HighShelf, 6300, 5), shelf(biquad.Bell, 9000, -3)},
			"above 6.3 kHz 3.5 dB under the reference; all moves make +1.7 dB"},
		{"takes back", c, []biquad.Filter{shelf(biquad.HighShelf, 6300, -3), shelf(biquad.HighShelf, 3000, 8)},
			"above 6.3 kHz the other moves alone stay 2.5 dB over the target"},
		{"one of two that cancel", c, []biquad.Filter{shelf(biquad.HighShelf, 6300, -3), shelf(biquad.LowShelf, 100, 0.1)},
			"makes the curve together with the other moves"},
		{"alone and astray", c, []biquad.Filter{shelf(biquad.HighShelf, 6300, -3)}, "brings the whole curve nearer"},
		{"several", several, []biquad.Filter{shelf(biquad.HighShelf, 6300, 1.5)}, "above 6.3 kHz 4.3 dB under the references, ±"},
	} {
		r := row.c.With(row.all, SolveOptions{TowardPercent: 100, Equaliser: DefaultSolve().Equaliser})
		got := r.Moves[0].Reason
		if !strings.HasPrefix(got, row.want) {
			t.Errorf("%s: %q, want %q", row.name, got, row.want)
		}
		if spread := strings.Contains(got, "(other references ±"); spread != (row.c == several) {
			t.Errorf("%s: %q, and the spread of references only of several", row.name, got)
		}
	}
}

// Whatever the moves, a reason with a side has the side of the gain.
func TestReasonsDoNotContradict(t *testing.T) {
	c := compare(t, invented(1, 90, flat), invented(5, 90, func(hz float64) float64 { return 3 * math.Sin(2*math.Log(hz)) }))
	sides := 0
	for toward := 20.0; toward <= 100; toward += 20 {
		for moves := 1; moves <= 6; moves++ {
			r := c.Solve(SolveOptions{MaxMoves: moves, TowardPercent: toward, ExactMoves: true, Equaliser: DefaultSolve().Equaliser})
			for _, m := range r.Moves {
				for _, word := range []string{" under the", " over the", " low against", " high against"} {
					if !strings.Contains(m.Reason, word) {
						continue
					}
					sides++
					if up := word == " under the" || word == " low against"; up != (m.GainDB > 0) {
						t.Errorf("%+.1f dB: %q", m.GainDB, m.Reason)
					}
				}
			}
		}
	}
	if sides < 30 {
		t.Errorf("only %d reasons name a side", sides)
	}
}

func TestWhyNoMoves(t *testing.T) {
	plain := invented(1, 90, flat)
	finished := DefaultSolve()
	finished.Stage = Finished
	for _, c := range []struct {
		name     string
		mix, ref *measure.Recording
		o        SolveOptions
		want     string
	}{
		{"not asked for", plain, invented(2, 90, flat), SolveOptions{TowardPercent: 60}, "No moves were asked for."},
		{"no part of the way", plain, invented(2, 90, flat), SolveOptions{MaxMoves: 4}, "No moves were asked for."},
		{"itself", plain, plain, DefaultSolve(), "Nothing to do: the difference is inaudible."},
		{"another song of that tone", plain, invented(2, 90, flat), finished, "finished songs usually differ by more)."},
		{"a song too rough for a fault of tone", plain, invented(2, 90, jagged), finished, "but none of it is clearly tone rather than arrangement."},
		{"a song of another kind", plain, invented(2, 90, func(hz float64) float64 { return 6 * math.Log2(hz/1000) }), DefaultSolve(),
			"is farther than two songs by one maker usually are."},
		{"a phrase", plain, invented(2, 12, flat), finished, "Longer recordings may tell."},
		{"an octave and a half", with(invented(1, 90, flat), func(r *measure.Recording) { r.CutoffHz = 160 }), invented(2, 90, flat), DefaultSolve(), "less than two octaves can be judged."},
	} {
		r := compare(t, c.mix, c.ref).Solve(c.o)
		if len(r.Moves) > 0 {
			t.Errorf("%s: moves %+v", c.name, r.Moves)
		}
		if got := r.WhyNoMoves(); !strings.HasSuffix(got, c.want) {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
	steep := invented(2, 90, func(hz float64) float64 { return 6 * math.Log2(hz/1000) })
	o := DefaultSolve()
	o.Stage = AsMeasured
	if r := compare(t, plain, steep).Solve(o); len(r.Moves) == 0 || r.WhyNoMoves() != "" {
		t.Errorf("as measured: %d moves, %q", len(r.Moves), r.WhyNoMoves())
	}
	level, err := FitCurve([]CurvePoint{{20, 3}, {20000, 3}}, 44100, DefaultSolve())
	if err != nil {
		t.Fatal(err)
	}
	if got := level.WhyNoMoves(); got != "Nothing to do: the curve is level to within 0.1 dB." || len(level.Moves) > 0 {
		t.Errorf("level curve: %q, moves %+v", got, level.Moves)
	}
}

// jagged is too rough for a difference of tone.
func jagged(hz float64) float64 { return 5 * math.Sin(12*math.Log(hz)) }

func TestWords(t *testing.T) {
	for hz, want := range map[float64]string{63: "63 Hz", 425: "425 Hz", 999: "999 Hz", 1000: "1 kHz", 3150: "3.15 kHz", 16000: "16 kHz"} {
		if got := Hertz(hz); got != want {
			t.Errorf("%g: %q, want %q", hz, got, want)
		}
	}
}

func TestCautions(t *testing.T) {
	for _, c := range []struct {
		f    biquad.Filter
		want string
	}{
		{biquad.Filter{Shape: biquad.Bell, FreqHz: 300, GainDB: -3, Q: 1}, ""},
		{biquad.Filter{Shape: biquad.Bell, FreqHz: 300, GainDB: -3.5, Q: 1}, "more than a master bus usually takes"},
		{biquad.Filter{Shape: biquad.Bell, FreqHz: 2000, GainDB: 1, Q: 1}, "also moves the voice, if there is one; set its level first"},
		{biquad.Filter{Shape: biquad.HighShelf, FreqHz: 9000, GainDB: 1, Q: 0.7}, "equalisers differ near the top"},
	} {
		got := strings.Join(cautions([]Move{{Filter: c.f}}), "; ")
		if (c.want == "") != (got == "") || !strings.Contains(got, c.want) {
			t.Errorf("%+v: %q, want %q", c.f, got, c.want)
		}
	}
	big := Move{Filter: biquad.Filter{Shape: biquad.Bell, FreqHz: 300, GainDB: -5, Q: 1}}
	if got := cautions([]Move{big, {}, big, big}); len(got) != 1 || !strings.HasPrefix(got[0], "moves 1, 3 and 4: more than") {
		t.Errorf("three of four moves: %q", got)
	}
}

// Damage to a file comes first, then the pair, lows, moves, and what only touches peaks.
func TestOrderOfWarnings(t *testing.T) {
	lossy := func(name string, cutoffHz float64, warnings ...string) *measure.Recording {
		return with(invented(2, 40, func(hz float64) float64 {
			switch {
			case hz < 56:
				return -20
			case hz > 1000:
				return 12
			}
			return 0
		}), func(r *measure.Recording) { r.CutoffHz, r.Warnings = cutoffHz, warnings })
	}
	mix := with(invented(1, 90, flat), func(r *measure.Recording) { r.CutoffHz = 13000 })
	r := compare(t, mix, lossy("a", 16400, "the file is damaged in one place")).
		Solve(SolveOptions{MaxMoves: 1, TowardPercent: 100, Equaliser: DefaultSolve().Equaliser})
	wants := []string{
		"the reference: the file is damaged", "the reference holds only 0:40",
		"the mix stops at 13 kHz, as lossy coding or a lower sample rate leaves it; nothing is advised above 10.9 kHz",
		"the reference stops at 16.4 kHz, as a 128 kbit/s MP3 does",
		"below 56 Hz the reference has 27 dB less", "move 1: more than",
	}
	at := 0
	for _, w := range r.Warnings {
		if at < len(wants) && strings.Contains(w, wants[at]) {
			at++
		}
	}
	if at < len(wants) {
		t.Errorf("no %q in its place in\n%s", wants[at], strings.Join(r.Warnings, "\n"))
	}
	for _, w := range r.Warnings {
		if strings.HasPrefix(w, "the reference stops") && strings.Contains(w, "nothing is advised") {
			t.Errorf("%q: the mix stops before", w)
		}
	}
}

func TestAsCoded(t *testing.T) {
	// Where LAME 3.100 says that it ends, by its own text, and what lies between.
	for hz, want := range map[float64]string{
		10900: "as a 64 kbit/s MP3 does", 16500: "as a 128 kbit/s MP3 does", 16790: "as a 128 kbit/s MP3 does", 16820: "as lossy",
		19000: "as a 192 kbit/s MP3 does", 20100: "as a 320 kbit/s MP3 does", 8000: "as lossy", 15900: "as lossy",
	} {
		if got := asCoded(hz); !strings.HasPrefix(got, want) {
			t.Errorf("%g Hz: %q, want %q", hz, got, want)
		}
	}
}
