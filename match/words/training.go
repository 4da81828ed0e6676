package words

import (
	"fmt"
	"strings"

	"toneplumb/biquad"
	"toneplumb/match/training"
)

// Answer returns a move as it is marked, such as "bell 1 kHz +3.0 dB Q 1", and with which Q if that was left empty.
func Answer(f biquad.Filter) string {
	text := fmt.Sprintf("%s %s %s dB", Shape(f.Shape), FormatHz(f.FreqHz), FormatGain(f.GainDB))
	if f.Q == 0 {
		return text + fmt.Sprintf(" (no Q: taken as %g)", training.AsJudged(f).Q)
	}
	return text + fmt.Sprintf(" Q %.2g", f.Q)
}

// Mark says what was found, confused, missed and invented in one render.
func Mark(m training.Mark) string {
	var parts []string
	say := func(format string, args ...any) { parts = append(parts, fmt.Sprintf(format, args...)) }
	for _, p := range m.Found {
		switch {
		case p.Heard == biquad.Filter{}:
			say("found %s: together they sound the same", Answer(p.Hidden))
		case Answer(p.Heard) == Answer(p.Hidden):
			say("found %s exactly", Answer(p.Hidden))
		default:
			say("found %s, heard as %s", Answer(p.Hidden), Answer(p.Heard))
		}
	}
	for _, p := range m.WrongWay {
		say("right place, wrong way: %s, heard as %s", Answer(p.Hidden), Answer(p.Heard))
	}
	for _, p := range m.Confused {
		lead := "not found"
		if p.SamePlace() {
			lead = "not found (right place, but not near enough)" // counted under not found
		}
		say("%s: %s, heard as %s", lead, Answer(p.Hidden), Answer(p.Heard))
	}
	for _, f := range m.Missed {
		say("missed %s", Answer(f))
	}
	for _, f := range m.Invented {
		say("invented %s", Answer(f))
	}
	return strings.Join(parts, "; ")
}

// Marked says how many moves of a sheet were found, and what became of the others.
func Marked(t training.Total) string {
	parts := []string{fmt.Sprintf("found %d of %s", t.Found, Count(t.Hidden, "move"))}
	for _, n := range []struct {
		count int
		what  string
	}{{t.WrongWay, "heard the wrong way"}, {t.Confused, "not found (another heard in its place)"}, {t.Missed, "missed"}, {t.Invented, "invented"}} {
		if n.count > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n.count, n.what))
		}
	}
	return strings.Join(parts, ", ")
}

// Score returns a score from 0 to 1 in percent.
func Score(score float64) string { return fmt.Sprintf("%.0f %%", 100*score) }

// MarkDistance gives an answer's score, says how far it is from the hidden curve, and how far no answer is, which may
// be nearer: "score 10 %; 1.8 dB off, unanswered 2.0 dB, unweighted".
func MarkDistance(m training.Mark) string {
	return fmt.Sprintf("score %s; %.1f dB off, unanswered %.1f dB, unweighted", Score(m.Score()), m.OffDB, m.HiddenDB)
}

// Mixup says what was taken for what, and how often.
func Mixup(m training.Mixup) string {
	switch {
	case m.Hidden == training.Nowhere:
		return fmt.Sprintf("%s heard where nothing was hidden, %d times", m.Heard.Name(), m.Times)
	case m.Heard == training.Nowhere:
		return fmt.Sprintf("%s not heard at all, %d times", m.Hidden.Name(), m.Times)
	case m.Hidden.Zone == m.Heard.Zone && m.Hidden.Up != m.Heard.Up:
		return fmt.Sprintf("%s heard the wrong way, %d times", m.Hidden.Name(), m.Times)
	case m.Hidden == m.Heard:
		return fmt.Sprintf("%s heard in its place, but not near enough, %d times", m.Hidden.Name(), m.Times)
	}
	return fmt.Sprintf("%s taken for %s, %d times", m.Hidden.Name(), m.Heard.Name(), m.Times)
}

// HiddenMoves says how many moves a render goes through.
func HiddenMoves(r training.Rules) string {
	return [...]string{"one move", "one or two moves", "one to three moves"}[r.MostMoves-1]
}

// Audible says how far renders are from plain and what loudspeakers they take, and warns of large boosts,
// whatever is hidden.
func Audible(r training.Rules) string {
	const largeDB = 6 // our choice: four times the power to a loudspeaker
	text := fmt.Sprintf("Each render is %.2g to %.2g dB from plain (rms, weighted by loudness; the dB of marks are unweighted). Each move changes at least %.1f dB where it is heard most; 1 dB is just audible.", r.LeastDB, r.MostDB, r.ExcitationDB)
	if r.MostBoostDB() > largeDB {
		text += fmt.Sprintf(" Boosts may be larger than %d dB: start quietly.", largeDB)
	}
	low, high := r.RangeHz()
	text += fmt.Sprintf(" Moves lie from %s to %s", FormatHz(low), FormatHz(high))
	if r.SmallBoxes {
		return text + ", where small loudspeakers play too."
	}
	return text + ": it takes headphones or loudspeakers that play both, not a laptop's."
}

// Renders says what a lesson is made of.
func Renders(n int, r training.Rules) string {
	return fmt.Sprintf("%d renders with hidden moves, %s, and the plain excerpt", n, r.Name)
}

// PageShortened says that a page plays only the first seconds of an excerpt.
func PageShortened(sec float64, maxBytes int) string {
	return fmt.Sprintf("The page plays the first %.1f s, so that it stays under %d MB; fewer renders leave room for more.", sec, maxBytes/1_000_000)
}
