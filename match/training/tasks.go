package training

import (
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"slices"

	"toneplumb/biquad"
)

const (
	// shelfSlope is the slope S of hidden shelves. Our choice: without a hump, but still heard as
	// a shelf.
	shelfSlope = 0.7

	// apartOct is the least distance between hidden moves, so that they are heard as several. Our
	// choice. Two bells of 4 dB keep a dip between them of 0.1 dB at Q 0.7, 0.9 at Q 1 and
	// 1.9 at Q 1.4; an octave apart they are one hump (0.0, 0.1 and 0.8).
	apartOct = 1.5

	// mostBoostDB is the largest hidden boost, cuts may be deeper. Our choice: eight times the power to a loudspeaker.
	mostBoostDB = 9.0

	leastGainDB = 1.0 // least hidden gain; our choice: less is not worth a move
	gainStepDB  = 0.5 // step of hidden gains; our choice: a common dial step

	// comebackShare is the largest share of a lesson for kinds missed before. Our choice.
	comebackShare = 1.0 / 3

	triesAPlace = 12 // draws before another place is tried
)

// ErrUnheard means that an excerpt has no place where a move would be as audible as the rules ask.
var ErrUnheard = errors.New("has too little music to hide moves in")

// SeedFor returns the seed of tasks on a recording. It differs for each recording: someone who has
// toneplumb and knows the number, but not the recording, draws other tasks.
func SeedFor(number uint64, recording []byte) uint64 {
	sum := sha256.Sum256(append(binary.BigEndian.AppendUint64(nil, number), recording...))
	return binary.BigEndian.Uint64(sum[:])
}

// Draw is the input of [DrawTasks].
type Draw struct {
	Rules
	Seed   uint64
	Missed []Kind // in earlier lessons, to be hidden again; the most missed first
}

// DrawTasks hides moves in an excerpt. It returns the filters of each of n tasks, in order of
// frequency. The same draw on the same excerpt gives the same tasks. Zones, shapes, and boosts and
// cuts come up equally often, as far as they are audible in the excerpt. No two tasks have the same
// moves as long as there are others. The error is [ErrUnheard] if nothing would be audible.
func DrawTasks(n int, d Draw, in *Hearing) ([][]biquad.Filter, error) {
	name := fnv.New64a()
	name.Write([]byte(d.Name)) // so that each difficulty has moves of its own
	s := &drawing{Draw: d, in: in, rng: rand.New(rand.NewPCG(d.Seed, name.Sum64())), seen: map[string]bool{}, unheard: map[Kind]bool{}}
	s.listen()
	s.comeback = d.Missed[:min(len(d.Missed), int(math.Ceil(comebackShare*float64(n))))]
	var tasks [][]biquad.Filter
	for len(tasks) < n {
		task := s.task()
		if task == nil {
			return nil, ErrUnheard
		}
		tasks = append(tasks, task)
	}
	return tasks, nil
}

// drawing is the state of a draw.
type drawing struct {
	Draw
	in       *Hearing
	rng      *rand.Rand
	comeback []Kind
	seen     map[string]bool
	unheard  map[Kind]bool // inaudible in this excerpt
	zones    [7]float64    // moves drawn so far by zone, shape and direction
	shapes   [5]float64
	ups      [2]float64
}

// task draws moves until they are as audible as the rules ask; nil if none are.
func (s *drawing) task() []biquad.Filter {
	for moves := 1 + s.rng.IntN(s.MostMoves); moves > 0; moves-- {
		for _, repeats := range []bool{false, true} {
			ruledOut := map[Kind]bool{}
			for {
				first, any := s.next(nil, ruledOut)
				if !any {
					break
				}
				for range triesAPlace {
					task := s.scaled(s.moves(first, moves))
					if task == nil || s.seen[fmt.Sprint(task)] && !repeats {
						continue
					}
					s.count(task)
					return task
				}
				ruledOut[first] = true
			}
		}
	}
	return nil
}

// listen finds the kinds of moves that are not as audible in the excerpt as the rules ask.
func (s *drawing) listen() {
	for _, p := range places {
		for _, up := range []bool{false, true} {
			k := Kind{p.zone, p.shape, up}
			s.unheard[k] = !slices.ContainsFunc(s.hz(p), func(hz float64) bool {
				f := biquad.Filter{Shape: p.shape, FreqHz: hz, GainDB: -s.MostGainDB, Q: s.BellQ[0]}
				if up {
					f.GainDB = s.MostBoostDB()
				}
				task := at([]biquad.Filter{f}, 1)
				return s.in.sounds(hz) && s.possible(task) && s.in.Change(task).ExcitationDB >= s.ExcitationDB
			})
		}
	}
}

func (s *drawing) hz(p place) []float64 {
	all := p.hz
	if s.Thirds && p.thirds != nil {
		all = p.thirds
	}
	return slices.DeleteFunc(slices.Clone(all), func(hz float64) bool { return !s.plays(hz) })
}

func (s *drawing) count(task []biquad.Filter) {
	s.seen[fmt.Sprint(task)] = true
	for _, f := range task {
		k := KindOf(f)
		s.zones[k.Zone]++
		s.shapes[k.Shape]++
		s.ups[sign(k.Up)]++
		if i := slices.Index(s.comeback, k); i >= 0 {
			s.comeback = slices.Delete(slices.Clone(s.comeback), i, i+1)
		}
	}
}

func sign(up bool) int {
	if up {
		return 1
	}
	return 0
}

// next draws a kind that is not ruled out and fits beside those given: first one that was missed
// before, then one that has come up least by zone, shape and direction.
func (s *drawing) next(beside []Kind, ruledOut map[Kind]bool) (k Kind, any bool) {
	for _, k := range s.comeback {
		if len(beside) == 0 && placeOf(k) != nil && !ruledOut[k] && !s.unheard[k] {
			return k, true
		}
	}
	least, seen := math.Inf(1), 0
	for _, p := range places {
		for _, up := range []bool{false, true} {
			c := Kind{p.zone, p.shape, up}
			if ruledOut[c] || s.unheard[c] || slices.ContainsFunc(beside, func(b Kind) bool { return b.Zone == c.Zone || b.Shape == c.Shape && c.Shape != biquad.Bell }) {
				continue
			}
			// Weighted by the numbers of zones, shapes and directions; squares would make no difference.
			score := 7*s.zones[c.Zone] + 3*s.shapes[c.Shape] + 2*s.ups[sign(up)]
			if score > least {
				continue
			}
			if score < least {
				least, seen = score, 0
			}
			// Among equals, draw by share.
			if seen += p.share; s.rng.IntN(seen) < p.share {
				k, any = c, true
			}
		}
	}
	return k, any
}

// moves draws count moves of unscaled gain, the first of a given kind; nil if they do not fit
// beside one another.
func (s *drawing) moves(first Kind, count int) []biquad.Filter {
	kinds := []Kind{first}
	ruledOut := map[Kind]bool{}
	task := []biquad.Filter{s.move(first)}
	for len(task) < count {
		k, any := s.next(kinds, ruledOut)
		if !any {
			return nil
		}
		f := s.move(k)
		if slices.ContainsFunc(task, func(o biquad.Filter) bool { return math.Abs(math.Log2(o.FreqHz/f.FreqHz)) < apartOct }) {
			ruledOut[k] = true
			continue
		}
		kinds, task = append(kinds, k), append(task, f)
	}
	slices.SortFunc(task, func(a, b biquad.Filter) int { return int(math.Copysign(1, a.FreqHz-b.FreqHz)) })
	return task
}

func (s *drawing) move(k Kind) biquad.Filter {
	hz := s.hz(*placeOf(k))
	f := biquad.Filter{Shape: k.Shape, FreqHz: hz[s.rng.IntN(len(hz))], GainDB: 0.8 + 0.4*s.rng.Float64()}
	if !k.Up {
		f.GainDB = -f.GainDB
	}
	if f.Shape == biquad.Bell {
		f.Q = s.BellQ[s.rng.IntN(len(s.BellQ))]
	}
	return f
}

// scaled sets the gains at which moves are as audible as a value drawn from the rules' range; nil
// if gain steps and limits do not allow it.
func (s *drawing) scaled(moves []biquad.Filter) []biquad.Filter {
	if moves == nil {
		return nil
	}
	want := s.LeastDB * math.Pow(s.MostDB/s.LeastDB, s.rng.Float64())
	low, high := 0.0, s.MostGainDB/0.8
	var task []biquad.Filter
	for range 10 { // to a hundredth of a dB
		scale := (low + high) / 2
		if task = at(moves, scale); !s.possible(task) || s.in.changeDB(task) > want {
			high = scale
		} else {
			low = scale
		}
	}
	if task = at(moves, low); !s.possible(task) {
		return nil
	}
	for _, f := range task {
		if math.Abs(f.GainDB) < leastGainDB || s.in.Change([]biquad.Filter{f}).ExcitationDB < s.ExcitationDB {
			return nil
		}
	}
	if db := s.in.changeDB(task); db < s.LeastDB || db > s.MostDB {
		return nil
	}
	return task
}

// at returns moves with their gains scaled and rounded to steps.
func at(moves []biquad.Filter, scale float64) []biquad.Filter {
	task := slices.Clone(moves)
	for i, f := range task {
		task[i].GainDB = gainStepDB * math.Round(f.GainDB*scale/gainStepDB)
		if f.Shape != biquad.Bell {
			task[i].Q = biquad.QFromSlope(shelfSlope, task[i].GainDB)
		}
	}
	return task
}

// possible reports whether the gains are within the rules, and the filters exist at the rate and lie where there is sound.
func (s *drawing) possible(task []biquad.Filter) bool {
	return !slices.ContainsFunc(task, func(f biquad.Filter) bool {
		return math.Abs(f.GainDB) > s.MostGainDB || f.GainDB > mostBoostDB || !s.in.sounds(f.FreqHz) || f.Check(s.in.rateHz) != nil
	})
}
