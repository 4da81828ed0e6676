package training

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"

	"toneplumb/biquad"
)

// Level is how hard tasks are.
type Level string

// The levels. Our choice: what beginners hear at once, what is met on a master bus (this
// program calls more than 3 dB there a lot, see cautions of match), and what practised ears
// find.
const (
	Easy   Level = "easy"   // one move of 5 to 7 dB
	Medium Level = "medium" // one or two of 3 to 5 dB
	Hard   Level = "hard"   // one to three of 2 to 4 dB, some narrower
)

// rules of a level, all our choice. Gains overlap from level to level, so that the next is
// no leap. Of narrower bells more gain is needed before they are heard (F. E. Toole and
// S. E. Olive, The modification of timbre by resonances, J. Audio Eng. Soc. 36 (1988),
// 122-142; from memory): those of Q 2 come last.
type rules struct {
	mostMoves      int
	leastDB, topDB float64
	bellQ          []float64
	bellHz         []float64
}

// Bells lie on the octaves of ISO 266, as learners name them, and for practised ears half way
// between too, on R40 numbers of ISO 3 (both from memory).
var octaveHz = []float64{125, 250, 500, 1000, 2000, 4000, 8000}
var halfHz = []float64{125, 180, 250, 355, 500, 710, 1000, 1400, 2000, 2800, 4000, 5600, 8000}

var levelRules = map[Level]rules{
	Easy:   {1, 5, 7, []float64{0.7, 1}, octaveHz},
	Medium: {2, 3, 5, []float64{0.7, 1, 1.4}, octaveHz},
	Hard:   {3, 2, 4, []float64{0.7, 1, 1.4, 2}, halfHz},
}

// Shelves of all levels: frequencies and slope. Our choice: where a master bus is moved, on
// third octaves of ISO 266 (from memory), two steps apart; a slope without a hump that is
// still heard as a shelf.
var (
	lowShelfHz  = []float64{80, 125, 200}
	highShelfHz = []float64{3150, 5000, 8000}
)

const (
	shelfSlope = 0.7

	// apartOct lies at least between hidden moves, so that they are heard as several. Our
	// choice. Two bells of 4 dB keep a dip between them of 0.1 dB at Q 0.7, 0.9 at Q 1 and
	// 1.9 at Q 1.4; an octave apart they are one hump (0.0, 0.1 and 0.8). Opposite ones of Q
	// 0.7 keep 3.1 dB of their 4, an octave apart 2.4.
	apartOct = 1.5
)

// ParseLevel reads "easy", "medium" or "hard".
func ParseLevel(word string) (Level, error) {
	if _, known := levelRules[Level(word)]; !known {
		return "", fmt.Errorf("there is no level %q; easy, medium and hard are known", word)
	}
	return Level(word), nil
}

// SeedFor is the seed of tasks on a recording: another for each recording, so that who
// has toneplumb and knows the number, but not the recording, draws other tasks.
func SeedFor(number uint64, recording []byte) uint64 {
	sum := sha256.Sum256(append(binary.BigEndian.AppendUint64(nil, number), recording...))
	return binary.BigEndian.Uint64(sum[:])
}

// DrawTasks hides moves: of each task the filters, in order of frequency. The same
// seed gives the same tasks. No two tasks of a set have the same moves.
func DrawTasks(n int, level Level, seed uint64) [][]biquad.Filter {
	rng := rand.New(rand.NewPCG(seed, 0x746f6e65)) // any second number will do
	r := levelRules[level]
	tasks := make([][]biquad.Filter, 0, n)
	for tries := 0; len(tasks) < n; tries++ {
		task := r.draw(rng)
		if tries < 50*n && contains(tasks, task) {
			continue
		}
		tasks = append(tasks, task)
	}
	return tasks
}

func contains(tasks [][]biquad.Filter, task []biquad.Filter) bool {
	for _, t := range tasks {
		if fmt.Sprint(t) == fmt.Sprint(task) {
			return true
		}
	}
	return false
}

func (r rules) draw(rng *rand.Rand) []biquad.Filter {
	pick := func(x []float64) float64 { return x[rng.IntN(len(x))] }
	wanted := 1 + rng.IntN(r.mostMoves)
	var task []biquad.Filter
	for len(task) < wanted {
		f := biquad.Filter{Shape: biquad.Bell}
		switch rng.IntN(4) {
		case 0:
			f.Shape, f.FreqHz = biquad.LowShelf, pick(lowShelfHz)
		case 1:
			f.Shape, f.FreqHz = biquad.HighShelf, pick(highShelfHz)
		default:
			f.FreqHz, f.Q = pick(r.bellHz), pick(r.bellQ)
		}
		f.GainDB = r.leastDB + 0.5*float64(rng.IntN(int(2*(r.topDB-r.leastDB))+1))
		if rng.IntN(2) == 0 {
			f.GainDB = -f.GainDB
		}
		if f.Shape != biquad.Bell {
			f.Q = biquad.QFromSlope(shelfSlope, f.GainDB)
		}
		at, free := 0, true
		for i, other := range task {
			same := f.Shape == other.Shape && f.Shape != biquad.Bell
			free = free && !same && math.Abs(math.Log2(f.FreqHz/other.FreqHz)) >= apartOct
			if other.FreqHz < f.FreqHz {
				at = i + 1
			}
		}
		if free {
			task = append(task[:at:at], append([]biquad.Filter{f}, task[at:]...)...)
		}
	}
	return task
}
