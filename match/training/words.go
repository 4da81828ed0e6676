package training

import (
	"fmt"
	"strings"

	"toneplumb/biquad"
	"toneplumb/match/words"
)

// Listening is the caution shown wherever something is to be played.
const Listening = "Start quietly, stay at one modest monitor setting, and rest between renders. " + words.SafeListening

// MoveWords returns a move such as "bell 1 kHz +3.0 dB Q 1"; "Q –" if the Q was left empty.
func MoveWords(f biquad.Filter) string {
	text := fmt.Sprintf("%s %s %s dB", words.Shape(f.Shape), words.FormatHz(f.FreqHz), words.FormatGain(f.GainDB))
	switch {
	case f.Shape != biquad.Bell:
	case f.Q == 0:
		text += " Q –"
	default:
		text += fmt.Sprintf(" Q %.2g", f.Q)
	}
	return text
}

// Words says what was found, confused, missed and invented in one render.
func (m Mark) Words() string {
	var parts []string
	say := func(format string, args ...any) { parts = append(parts, fmt.Sprintf(format, args...)) }
	for _, p := range m.Found {
		switch {
		case p.Heard == biquad.Filter{}:
			say("found %s: together they sound the same", MoveWords(p.Hidden))
		case MoveWords(p.Heard) == MoveWords(p.Hidden):
			say("found %s exactly", MoveWords(p.Hidden))
		default:
			say("found %s, heard as %s", MoveWords(p.Hidden), MoveWords(p.Heard))
		}
	}
	for _, p := range m.WrongWay {
		say("right place, wrong way: %s, heard as %s", MoveWords(p.Hidden), MoveWords(p.Heard))
	}
	for _, p := range m.Confused {
		lead := "not found"
		if placeHeard(p.Hidden) == placeHeard(p.Heard) {
			lead = "not found (right place, but not near enough)" // counted under not found
		}
		say("%s: %s, heard as %s", lead, MoveWords(p.Hidden), MoveWords(p.Heard))
	}
	for _, f := range m.Missed {
		say("missed %s", MoveWords(f))
	}
	for _, f := range m.Invented {
		say("invented %s", MoveWords(f))
	}
	return strings.Join(parts, "; ")
}

// DistanceWords says how far an answer is from the hidden curve, and how far no answer is, which may be
// nearer: "1.8 dB off, unanswered 2.0".
func (m Mark) DistanceWords() string {
	return fmt.Sprintf("%.1f dB off, unanswered %.1f", m.OffDB, m.HiddenDB)
}

// Words says what was taken for what, and how often.
func (m Mixup) Words() string {
	switch {
	case m.Hidden == nowhere:
		return fmt.Sprintf("%s heard where nothing was hidden, %d times", m.Heard.Name(), m.Times)
	case m.Heard == nowhere:
		return fmt.Sprintf("%s not heard at all, %d times", m.Hidden.Name(), m.Times)
	case m.Hidden.Zone == m.Heard.Zone && m.Hidden.Up != m.Heard.Up:
		return fmt.Sprintf("%s heard the wrong way, %d times", m.Hidden.Name(), m.Times)
	case m.Hidden == m.Heard:
		return fmt.Sprintf("%s too far off, %d times", m.Hidden.Name(), m.Times)
	}
	return fmt.Sprintf("%s taken for %s, %d times", m.Hidden.Name(), m.Heard.Name(), m.Times)
}
