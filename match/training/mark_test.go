package training

import (
	"bytes"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum/testkit"
)

func shelf(shape biquad.Shape, hz, db float64) biquad.Filter {
	return biquad.Filter{Shape: shape, FreqHz: hz, GainDB: db, Q: biquad.QFromSlope(0.7, db)}
}

func bell(hz, db, q float64) biquad.Filter {
	return biquad.Filter{Shape: biquad.Bell, FreqHz: hz, GainDB: db, Q: q}
}

// Curves apart, worked out with scipy 1.10: signal.freqz of the cookbook's coefficients
// written anew in Python at 48 kHz, at 1000·10^((2k+1)/160) Hz from 40 Hz to 16 kHz
// (208 of them), the mean taken off, root mean square.
func TestMarkAnswer(t *testing.T) {
	const tolerance = 0.0001 // as many decimals as were noted
	low, high := biquad.LowShelf, biquad.HighShelf
	for _, c := range []struct {
		name                    string
		hidden, heard           []biquad.Filter
		off, nothing            float64
		found, missed, invented int
	}{
		{"nothing heard", []biquad.Filter{bell(1000, 6, 1)}, nil, 1.7124, 1.7124, 0, 1, 0},
		{"half an octave off", []biquad.Filter{bell(1000, 6, 1)}, []biquad.Filter{bell(1400, 4, 1)}, 1.0112, 1.7124, 0, 0, 0},
		{"a bell for a shelf, and one invented", []biquad.Filter{shelf(low, 125, 4), bell(2000, -3, 1.4)},
			[]biquad.Filter{bell(80, 3, 1), shelf(high, 5000, 3)}, 1.4639, 1.6795, 1, 0, 0},
		{"exactly", []biquad.Filter{shelf(high, 5000, -5)}, []biquad.Filter{shelf(high, 5000, -5)}, 0, 1.6032, 1, 0, 0},
	} {
		m := MarkAnswer(c.hidden, c.heard, 48000)
		if math.Abs(m.OffDB-c.off) > tolerance || math.Abs(m.HiddenDB-c.nothing) > tolerance {
			t.Errorf("%s: %.4f and %.4f dB, want %.4f and %.4f", c.name, m.OffDB, m.HiddenDB, c.off, c.nothing)
		}
		if len(m.Found) != c.found || len(m.Missed) != c.missed || len(m.Invented) != c.invented {
			t.Errorf("%s: %d found, %d missed, %d invented; want %d, %d, %d", c.name, len(m.Found), len(m.Missed), len(m.Invented), c.found, c.missed, c.invented)
		}
	}
}

// A shelf heard two octaves away takes a good part of the hidden one, but is not found.
func TestFoundNearby(t *testing.T) {
	hidden := shelf(biquad.LowShelf, 630, -5)
	for hz, found := range map[float64]int{150: 0, 300: 0, 400: 1, 1250: 1, 2500: 0} {
		m := MarkAnswer([]biquad.Filter{hidden}, []biquad.Filter{shelf(biquad.LowShelf, hz, -5)}, 48000)
		if len(m.Found) != found || len(m.Confused) != 1-found {
			t.Errorf("heard at %g Hz: %d found, %d heard as something else; %.2f of %.2f dB are left", hz, len(m.Found), len(m.Confused), m.OffDB, m.HiddenDB)
		}
	}
}

// Of one move, what is found scores half or more and the rest less, so that marks do not contradict
// one another. An invented move costs score.
func TestHalfIsFound(t *testing.T) {
	for _, c := range []struct {
		name          string
		hidden, heard biquad.Filter
		found         int
	}{
		{"half the gain", bell(1000, 6, 1), bell(1000, 3, 1), 1},
		{"less than half", bell(1000, 6, 1), bell(1000, 2.5, 1), 0},
		{"half as much again", bell(1000, 6, 1), bell(1000, 9, 1), 1},
		{"more", bell(1000, 6, 1), bell(1000, 9.5, 1), 0},
		{"0.4 octaves", bell(1000, 6, 1), bell(1000*math.Pow(2, 0.39), 6, 1), 1},
		{"half an octave", bell(1000, 6, 1), bell(1400, 6, 1), 0},
		{"a fifth of an octave, Q 2", bell(1000, 6, 2), bell(1000*math.Pow(2, 0.2), 6, 2), 1},
		{"a third of an octave, Q 2", bell(1000, 6, 2), bell(1250, 6, 2), 0},
		{"a shelf nearly an octave off", shelf(biquad.LowShelf, 630, 6), shelf(biquad.LowShelf, 1250, 6), 1},
		{"a bell for a shelf", shelf(biquad.HighShelf, 6300, -8.5), bell(8000, -5, 0.7), 0},
	} {
		m := MarkAnswer([]biquad.Filter{c.hidden}, []biquad.Filter{c.heard}, 48000)
		if len(m.Found) != c.found || (m.Score() >= 0.5) != (c.found == 1) {
			t.Errorf("%s: %d found, want %d, and a score of %.2f", c.name, len(m.Found), c.found, m.Score())
		}
		if c.found == 1 {
			more := MarkAnswer([]biquad.Filter{c.hidden}, []biquad.Filter{c.heard, bell(100, 4, 1)}, 48000)
			if len(more.Found) != 1 || len(more.Invented) != 1 || more.Score() >= m.Score() {
				t.Errorf("%s, and one invented: %+v, and a score of %.2f after %.2f", c.name, more, more.Score(), m.Score())
			}
		}
	}
}

// Sheets of one lesson and what a teacher would say of them. With -update they are
// written to testdata/marks.md.
func TestSheets(t *testing.T) {
	low, high := biquad.LowShelf, biquad.HighShelf
	hidden := [][]biquad.Filter{
		{bell(1000, 6, 1)}, {shelf(low, 125, -4)}, {bell(4000, -7, 1)}, {shelf(high, 6300, 5)}, {bell(250, 4, 1), bell(4000, -4, 1)},
	}
	all := func(change func(biquad.Filter) biquad.Filter) (heard [][]biquad.Filter) {
		for _, task := range hidden {
			var moves []biquad.Filter
			for _, f := range task {
				moves = append(moves, change(f))
			}
			heard = append(heard, moves)
		}
		return heard
	}
	gain := func(factor float64) func(biquad.Filter) biquad.Filter {
		return func(f biquad.Filter) biquad.Filter {
			f.GainDB *= factor
			if f.Shape != biquad.Bell {
				f.Q = biquad.QFromSlope(0.7, f.GainDB)
			}
			return f
		}
	}
	moved := func(oct float64) func(biquad.Filter) biquad.Filter {
		return func(f biquad.Filter) biquad.Filter { f.FreqHz *= math.Pow(2, oct); return f }
	}
	swapped := [][]biquad.Filter{hidden[1], hidden[0], hidden[2], hidden[3], hidden[4]}
	var table bytes.Buffer
	fmt.Fprint(&table, "# Marks of constructed sheets\n\nFive renders: bell 1 kHz +6; low shelf 125 Hz −4; bell 4 kHz −7; high shelf 6.3 kHz +5; bells 250 Hz +4 and 4 kHz −4. Run again: `go test ./match/training -run TestSheets -update`.\n\n")
	fmt.Fprint(&table, "| sheet | found of 6 | wrong way | heard as something else | missed | invented | dB off (no answer: 1.7) | score |\n|---|---|---|---|---|---|---|---|\n")
	for _, c := range []struct {
		name  string
		heard [][]biquad.Filter
		want  Total // counts alone
		score [2]float64
	}{
		{"perfect", hidden, Total{Found: 6}, [2]float64{1, 1}},
		{"perfect, the two of render 5 the other way around", all(func(f biquad.Filter) biquad.Filter { return f }), Total{Found: 6}, [2]float64{1, 1}},
		{"a third of an octave high", all(moved(1. / 3)), Total{Found: 6}, [2]float64{0.5, 0.9}},
		{"half an octave high", all(moved(0.5)), Total{Found: 2, Confused: 4}, [2]float64{0.3, 0.9}}, // the shelves alone
		{"an octave off", all(moved(1)), Total{Found: 1, Confused: 5}, [2]float64{0, 0.3}},           // shelves share most of what they move
		{"half the gain", all(gain(0.5)), Total{Found: 6}, [2]float64{0.4, 0.6}},
		{"twice the gain", all(gain(2)), Total{Confused: 6}, [2]float64{0, 0.05}},
		{"wrong way", all(gain(-1)), Total{WrongWay: 6}, [2]float64{0, 0}},
		{"blank", make([][]biquad.Filter, 5), Total{Missed: 6}, [2]float64{0, 0}},
		{"±0.1 dB everywhere", all(gain(0.02)), Total{Missed: 6}, [2]float64{0, 0}},
		{"absurd: +24 dB, Q 0.1 everywhere", all(func(biquad.Filter) biquad.Filter { return bell(1000, 24, 0.1) }), Total{Confused: 6}, [2]float64{0, 0.01}},
		{"renders 1 and 2 swapped", swapped, Total{Found: 4, Confused: 2}, [2]float64{0.55, 0.65}},
		{"other names for the same sound", [][]biquad.Filter{hidden[0], {shelf(high, 125, 4)}, hidden[2], {shelf(low, 6300, -5)}, hidden[4]}, Total{Found: 6}, [2]float64{0.99, 1}},
	} {
		if c.name == "perfect, the two of render 5 the other way around" {
			slices.Reverse(c.heard[4])
		}
		var marks []Mark
		for i, task := range hidden {
			marks = append(marks, MarkAnswer(task, c.heard[i], 48000))
		}
		got := TotalOf(marks)
		if got.Found != c.want.Found || got.WrongWay != c.want.WrongWay || got.Confused != c.want.Confused || got.Missed != c.want.Missed || got.Invented != c.want.Invented {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
		if got.Score < c.score[0] || got.Score > c.score[1]+1e-9 {
			t.Errorf("%s: score %.2f, want %.2f", c.name, got.Score, c.score)
		}
		fmt.Fprintf(&table, "| %s | %d | %d | %d | %d | %d | %.2f | %.0f %% |\n", c.name, got.Found, got.WrongWay, got.Confused, got.Missed, got.Invented, got.OffDB, 100*got.Score)
	}
	testkit.Golden(t, filepath.Join("testdata", "marks.md"), table.Bytes())

	// A wild answer does not take away what was heard elsewhere: the sheet is further off than without answers.
	wild := TotalOf([]Mark{MarkAnswer(hidden[0], hidden[0], 48000), MarkAnswer(hidden[1], []biquad.Filter{bell(1000, 24, 0.1)}, 48000)})
	if wild.OffDB <= wild.HiddenDB || wild.Score != 0.5 {
		t.Errorf("one exact, one wild: %+v", wild)
	}
	// Two kHz −4 where 4 kHz −7 was hidden scores 1.8 of 2.0 dB: no find.
	if m := MarkAnswer([]biquad.Filter{bell(4000, -7, 1)}, []biquad.Filter{bell(2000, -4, 1)}, 48000); len(m.Found) > 0 || len(m.Confused) != 1 {
		t.Errorf("2 kHz −4 for 4 kHz −7: %+v", m)
	}
	// The nearer of two is the one that was found.
	m := MarkAnswer([]biquad.Filter{bell(1000, 3, 1)}, []biquad.Filter{bell(1400, 3, 1), bell(1100, 3, 1)}, 48000)
	if len(m.Found) != 1 || m.Found[0].Heard.FreqHz != 1100 || len(m.Invented) != 1 {
		t.Errorf("two for one: %+v", m)
	}
	// Two shelves that together are the hidden tilt.
	m = MarkAnswer([]biquad.Filter{shelf(low, 800, 4)}, []biquad.Filter{shelf(low, 800, 2), shelf(high, 800, -2)}, 48000)
	if len(m.Found) != 1 || len(m.Invented) != 0 {
		t.Errorf("a tilt by two: %+v", m)
	}
}

// The further an answer is from the truth, the less it scores.
func TestScoreFalls(t *testing.T) {
	for _, hidden := range []biquad.Filter{bell(1000, 6, 1), bell(250, -4, 1.4), shelf(biquad.LowShelf, 125, 4), shelf(biquad.HighShelf, 6300, -5)} {
		for name, answer := range map[string]func(x float64) biquad.Filter{
			"higher":     func(x float64) biquad.Filter { f := hidden; f.FreqHz *= math.Pow(2, 2*x/20); return f },
			"too much":   func(x float64) biquad.Filter { f := hidden; f.GainDB *= 1 + x/10; return f },
			"too little": func(x float64) biquad.Filter { f := hidden; f.GainDB *= 1 - x/10; return f },
		} {
			last := 2.0
			for x := range 21 {
				s := MarkAnswer([]biquad.Filter{hidden}, []biquad.Filter{answer(float64(x))}, 48000).Score()
				if s > last+1e-9 {
					t.Errorf("%v, %s by %d: %.3f after %.3f", hidden, name, x, s, last)
				}
				last = s
			}
			if last > 0.2 { // a shelf two octaves off still moves some of the same
				t.Errorf("%v, %s: %.2f at the end", hidden, name, last)
			}
		}
	}
}

// What was hidden and what it was taken for.
func TestConfusion(t *testing.T) {
	c := Confusion{}
	for range 3 {
		c.Add(MarkAnswer([]biquad.Filter{bell(1000, 6, 1)}, []biquad.Filter{bell(4000, 6, 1)}, 48000))
	}
	c.Add(MarkAnswer([]biquad.Filter{bell(1000, 6, 1)}, []biquad.Filter{bell(1000, 5, 1)}, 48000))
	c.Add(MarkAnswer([]biquad.Filter{bell(250, -6, 1)}, nil, 48000))
	mids, highMids := Place{3, true}, Place{4, true}
	if c[Taken{mids, highMids, false}] != 3 || c[Taken{mids, mids, true}] != 1 || c[Taken{Place{2, false}, Nowhere, false}] != 1 {
		t.Errorf("%v", c)
	}
	if m := c.Mixups(); len(m) != 1 || m[0] != (Mixup{mids, highMids, 3}) || m[0].Hidden.Name() != "mids +" {
		t.Errorf("%v", m)
	}
	for range 2 { // in its place, but not near enough
		c.Add(MarkAnswer([]biquad.Filter{bell(1000, 6, 1)}, []biquad.Filter{bell(1000, 1, 1)}, 48000))
	}
	if m := c.Mixups(); c[Taken{mids, mids, true}] != 1 || len(m) != 2 || m[1] != (Mixup{mids, mids, 2}) {
		t.Errorf("%v, mix-ups %v", c, m)
	}
}
