package words

import (
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match/training"
)

// What is handed out says which loudspeakers it takes, and warns of large boosts; only easy keeps to small
// loudspeakers.
func TestAudible(t *testing.T) {
	for _, c := range []struct {
		training.Rules
		quietly bool
		want    string
	}{
		{training.Easy.Rules(), true, "Moves lie from 100 Hz to 10 kHz, where small loudspeakers play too."},
		{training.Medium.Rules(), true, "Moves lie from 40 Hz to 12.5 kHz: it takes headphones or loudspeakers that play both, not a laptop's."},
		{training.Lesson(1, 8), true, "Moves lie from 40 Hz to 12.5 kHz: it takes headphones or loudspeakers that play both, not a laptop's."},
		{training.Lesson(8, 8), false, "not a laptop's."},
	} {
		got := Audible(c.Rules)
		if !strings.HasSuffix(got, " "+c.want) || strings.Contains(got, "start quietly") != c.quietly {
			t.Errorf("%s: %q, want %q and a warning of boosts %v", c.Name, got, c.want, c.quietly)
		}
	}
}

// Each thing that a mark may hold, in one render.
func TestMark(t *testing.T) {
	bell := func(db, q float64) biquad.Filter {
		return biquad.Filter{Shape: biquad.Bell, FreqHz: 1000, GainDB: db, Q: q}
	}
	shelf := biquad.Filter{Shape: biquad.LowShelf, FreqHz: 125, GainDB: -4, Q: 0.7}
	for _, c := range []struct {
		want string
		mark training.Mark
	}{
		{"found bell 1 kHz +4.0 dB Q 1, heard as bell 1 kHz +4.0 dB (no Q: taken as 1)", training.Mark{Found: []training.Pair{{Hidden: bell(4, 1), Heard: bell(4, 0)}}}},
		{"found bell 1 kHz +4.0 dB Q 1 exactly", training.Mark{Found: []training.Pair{{Hidden: bell(4, 1), Heard: bell(4, 1)}}}},
		{"found bell 1 kHz +4.0 dB Q 1: together they sound the same", training.Mark{Found: []training.Pair{{Hidden: bell(4, 1)}}}},
		{"right place, wrong way: bell 1 kHz +4.0 dB Q 1, heard as bell 1 kHz −4.0 dB Q 1", training.Mark{WrongWay: []training.Pair{{Hidden: bell(4, 1), Heard: bell(-4, 1)}}}},
		{"not found (right place, but not near enough): bell 1 kHz +6.0 dB Q 1, heard as bell 1 kHz +1.0 dB Q 1", training.Mark{Confused: []training.Pair{{Hidden: bell(6, 1), Heard: bell(1, 1)}}}},
		{"not found: low shelf 125 Hz −4.0 dB Q 0.7, heard as bell 1 kHz +1.0 dB Q 1; missed low shelf 125 Hz −4.0 dB Q 0.7; invented bell 1 kHz +6.0 dB Q 1.4",
			training.Mark{Confused: []training.Pair{{Hidden: shelf, Heard: bell(1, 1)}}, Missed: []biquad.Filter{shelf}, Invented: []biquad.Filter{bell(6, 1.4)}}},
	} {
		if got := Mark(c.mark); got != c.want {
			t.Errorf("%s, want %s", got, c.want)
		}
	}
	if got := MarkDistance(training.Mark{OffDB: 2.5, HiddenDB: 1.3}); got != "score 0 %; 2.5 dB off, unanswered 1.3 dB, unweighted" {
		t.Errorf("%q", got)
	}
	if got := Marked(training.Total{Hidden: 3, Confused: 2, Missed: 1}); got != "found 0 of 3 moves, 2 not found (another heard in its place), 1 missed" {
		t.Errorf("%q", got)
	}
}

func TestMixup(t *testing.T) {
	mids, highMids := training.Place{Zone: 3, Up: true}, training.Place{Zone: 4}
	for want, m := range map[string]training.Mixup{
		"mids + heard where nothing was hidden, 2 times":          {Hidden: training.Nowhere, Heard: mids, Times: 2},
		"high mids − not heard at all, 3 times":                   {Hidden: highMids, Heard: training.Nowhere, Times: 3},
		"mids + heard the wrong way, 2 times":                     {Hidden: mids, Heard: training.Place{Zone: 3}, Times: 2},
		"mids + heard in its place, but not near enough, 2 times": {Hidden: mids, Heard: mids, Times: 2},
		"mids + taken for high mids −, 2 times":                   {Hidden: mids, Heard: highMids, Times: 2},
	} {
		if got := Mixup(m); got != want {
			t.Errorf("%s, want %s", got, want)
		}
	}
}
