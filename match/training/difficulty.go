package training

import (
	"fmt"
	"math"
)

// Difficulty is how hard tasks are.
type Difficulty string

const (
	Easy   Difficulty = "easy"
	Medium Difficulty = "medium"
	Hard   Difficulty = "hard"
)

// Rules are what tasks keep to.
type Rules struct {
	Name      string // "easy", "lesson 3 of 8"
	MostMoves int

	// LeastDB and MostDB are the ends of how far a render is from the plain excerpt, see
	// [masking.Audible.ChangeDB]; ExcitationDB is what each of its moves alone changes at least,
	// where that is most.
	LeastDB, MostDB, ExcitationDB float64

	MostGainDB float64   // of a move
	BellQ      []float64 // Q of bells
	Thirds     bool      // bells on third octaves, not on octaves alone
}

// rules of the difficulties, our choice. The ranges lie side by side, so that no render of
// an excerpt is of two difficulties. A bell of 6 dB and Q 1 at 1 kHz is 1.9 dB from plain,
// one of 2 dB 0.65; 1 dB of excitation is just heard. In the sub and the air, where little of the loudness is,
// as much takes up to 12 dB. Of narrower bells more gain is needed before they are heard
// (F. E. Toole and S. E. Olive, J. Audio Eng. Soc. 36 (1988), 122–142; from memory).
var rules = map[Difficulty]Rules{
	Easy:   {"easy", 1, 1, 2, 2.5, 12, []float64{0.7, 1}, false},
	Medium: {"medium", 2, 0.6, 1, 1.5, 10, []float64{1, 1.4}, false},
	Hard:   {"hard", 3, 0.35, 0.6, 1, 8, []float64{1.4, 2}, true},
}

// Rules returns what tasks of the difficulty keep to.
func (d Difficulty) Rules() Rules { return rules[d] }

// ParseDifficulty reads "easy", "medium" or "hard".
func ParseDifficulty(word string) (Difficulty, error) {
	if _, known := rules[Difficulty(word)]; !known {
		return "", fmt.Errorf("there is no difficulty %q; easy, medium and hard are known", word)
	}
	return Difficulty(word), nil
}

// MaxCourse is how many lessons a course has at most; our choice: a term and holidays.
const MaxCourse = 20

// The ends of a course, our choice: from bells an octave wide to a third of one, from what
// 6 dB of the former change to what 2 dB of the latter do, from one move to three.
const (
	firstQ, lastQ         = 1.4142, 4.3185 // biquad.QFromBandwidth of 1 and 1/3
	firstDB, lastDB       = 1.4, 0.45
	courseSpread          = 1.35 // how far a lesson's range reaches to both sides
	firstGainDB, lastGain = 12.0, 6.0
)

// Lesson returns the rules of one lesson of a course, counted from 1.
func Lesson(lesson, of int) Rules {
	t := 0.0
	if of > 1 {
		t = float64(lesson-1) / float64(of-1)
	}
	between := func(first, last float64) float64 { return first * math.Pow(last/first, t) }
	q, db := between(firstQ, lastQ), between(firstDB, lastDB)
	round := func(x float64) float64 { return math.Round(x*20) / 20 }
	return Rules{
		Name:      fmt.Sprintf("lesson %d of %d", lesson, of),
		MostMoves: 1 + int(math.Round(2*t)),
		LeastDB:   round(db / courseSpread), MostDB: round(db * courseSpread), ExcitationDB: between(2.5, 1),
		MostGainDB: math.Round(between(firstGainDB, lastGain)), BellQ: []float64{math.Round(q*100) / 100}, Thirds: t >= 0.5,
	}
}

// MovesWords says how many moves a render goes through.
func (r Rules) MovesWords() string {
	return [...]string{"one move", "one or two moves", "one to three moves"}[r.MostMoves-1]
}

// AudibleWords says how far renders are from plain.
func (r Rules) AudibleWords() string {
	return fmt.Sprintf("Each render is %.2g to %.2g dB from plain (rms, weighted by loudness). Each move changes at least %.1f dB where it is heard most; 1 dB is just audible.", r.LeastDB, r.MostDB, r.ExcitationDB)
}
