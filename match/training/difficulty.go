package training

import (
	"fmt"
	"math"
	"slices"
)

// Difficulty is how hard tasks are.
type Difficulty string

// The difficulties.
const (
	Easy   Difficulty = "easy"
	Medium Difficulty = "medium"
	Hard   Difficulty = "hard"
)

// Rules are the limits within which tasks are drawn.
type Rules struct {
	Name      string `json:"name"` // "easy", "lesson 3 of 8"
	MostMoves int    `json:"most_moves"`

	// LeastDB and MostDB bound the distance of a render from the plain excerpt, see
	// [masking.Audible.ChangeDB]. ExcitationDB is the least change in excitation that each move
	// alone makes where it changes most.
	LeastDB      float64 `json:"least_db"`
	MostDB       float64 `json:"most_db"`
	ExcitationDB float64 `json:"excitation_db"`

	// What only drawing needs.
	MostGainDB float64   `json:"-"` // of each move, boost or cut
	BellQ      []float64 `json:"-"` // possible Q of bells
	Thirds     bool      `json:"-"` // bells on third octaves; else on octaves only
	SmallBoxes bool      `json:"-"` // only moves that small loudspeakers play, see smallLowHz
}

// rules of the difficulties, our choice. The ranges do not overlap, so that a render of an excerpt
// belongs to one difficulty. A bell of 6 dB and Q 1 at 1 kHz is 1.9 dB from plain, one of 2 dB
// 0.65 dB; 1 dB of excitation is just audible. In the sub and the air, which hold little of the
// loudness, the same distance takes up to 12 dB. Narrower bells need more gain to be heard
// (F. E. Toole and S. E. Olive, J. Audio Eng. Soc. 36 (1988), 122–142; from memory).
var rules = map[Difficulty]Rules{
	Easy:   {"easy", 1, 1, 2, 2.5, 12, []float64{0.7, 1}, false, true},
	Medium: {"medium", 2, 0.6, 1, 1.5, 10, []float64{1, 1.4}, false, false},
	Hard:   {"hard", 3, 0.35, 0.6, 1, 8, []float64{1.4, 2}, true, false},
}

// Small loudspeakers, those of a laptop or a classroom, play moves whose frequencies lie in this range;
// a shelf at 80 Hz would work below what they have. Common practice, no source. The least and the most
// of places are what other difficulties take.
const smallLowHz, smallHighHz = 100, 10000

// plays reports whether the rules' loudspeakers play a move at a frequency.
func (r Rules) plays(hz float64) bool { return !r.SmallBoxes || hz >= smallLowHz && hz <= smallHighHz }

// RangeHz returns the lowest and the highest frequency that a move may have.
func (r Rules) RangeHz() (low, high float64) {
	if r.SmallBoxes {
		return smallLowHz, smallHighHz
	}
	low = math.Inf(1)
	for _, p := range places {
		low, high = min(low, slices.Min(p.hz)), max(high, slices.Max(p.hz))
	}
	return low, high
}

// MostBoostDB returns the largest boost that a move may have.
func (r Rules) MostBoostDB() float64 { return min(r.MostGainDB, mostBoostDB) }

// Rules returns the rules of the difficulty.
func (d Difficulty) Rules() Rules { return rules[d] }

// ParseDifficulty parses "easy", "medium" or "hard".
func ParseDifficulty(word string) (Difficulty, error) {
	if _, known := rules[Difficulty(word)]; !known {
		return "", fmt.Errorf("there is no difficulty %q; easy, medium and hard are known", word)
	}
	return Difficulty(word), nil
}

// MaxCourse is the largest number of lessons in a course; our choice: a term with holidays.
const MaxCourse = 20

// The ends of a course, our choice: from bells one octave wide to a third of an octave, from the
// distance of 6 dB of the former to that of 2 dB of the latter, from one move to three.
const (
	firstQ, lastQ         = 1.4142, 4.3185 // biquad.QFromBandwidth of 1 and 1/3
	firstDB, lastDB       = 1.4, 0.45
	courseSpread          = 1.35 // ratio from the middle of a lesson's range to either end
	firstGainDB, lastGain = 12.0, 6.0
)

// Lesson returns the rules of one lesson, from 1, of a course with that number of lessons.
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
