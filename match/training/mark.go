package training

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"toneplumb/biquad"
	"toneplumb/spectrum"
)

// Mark is the result of one render. Each hidden move is in one of Found, WrongWay, Confused and
// Missed; each heard move in one of the first three or in Invented.
type Mark struct {
	Found    []Pair
	WrongWay []Pair // right place, but a boost heard as a cut or a cut as a boost
	Confused []Pair // heard as something else
	Missed   []biquad.Filter
	Invented []biquad.Filter

	// OffDB is the distance of the heard curve from the hidden one, HiddenDB that of no answer: rms
	// from 40 Hz to 16 kHz, with the mean over the bands removed, since all renders are equally
	// loud.
	OffDB, HiddenDB float64
}

// Pair is a hidden move and the one heard in its place. Heard is the zero Filter if the moves of a
// render were found only together, such as two shelves for one bell.
type Pair struct{ Hidden, Heard biquad.Filter }

// SamePlace reports whether the two moves have one zone and direction.
func (p Pair) SamePlace() bool { return placeHeard(p.Hidden) == placeHeard(p.Heard) }

// When a move is found; all our choice.
const (
	// foundShare is the largest share of a hidden move that an answer may leave: at least half of it is
	// heard, so that who finds everything and invents nothing scores half or more, and practice goes
	// by the same share. At the hidden frequency that is half to one and a half times the gain. At the
	// hidden gain a bell of Q 1 may be 0.4 octaves off, one of Q 2 a fifth (TestHalfIsFound).
	foundShare = 0.5

	// foundOct is how far off a move may be heard. A bell an octave off leaves too much anyway, but one
	// low shelf takes away half of another that is one and a half octaves above it.
	foundOct = 1

	// togetherShare is the largest share of the whole render that an answer may leave to be taken
	// for the same sound, whatever its moves are called.
	togetherShare = 0.25

	// leastHeardDB is the smallest gain that is an answer: the step of hidden gains.
	leastHeardDB = gainStepDB
)

// markedHz is the frequency range of marks, that of distances everywhere in toneplumb.
var markedHz = [2]float64{40, 16000}

// MarkAnswer marks what was heard in one render. It judges the answer by its curve, not by its name:
// a high shelf of +4 dB is the low shelf of −4 dB at the same frequency once both are equally loud.
// Heard moves may lack their Q, see [AsJudged].
func MarkAnswer(hidden, heard []biquad.Filter, rateHz float64) Mark {
	heard = slices.DeleteFunc(slices.Clone(heard), func(f biquad.Filter) bool { return math.Abs(f.GainDB) < leastHeardDB })
	for i := range heard { // an answer may exceed half the rate, such as 16 kHz at a rate of 22 kHz
		heard[i].FreqHz = math.Min(heard[i].FreqHz, 0.49*rateHz)
	}
	var m Mark
	m.OffDB = curvesApart(hidden, heard, rateHz)
	m.HiddenDB = curvesApart(hidden, nil, rateHz)
	missed := slices.Clone(hidden)
	pair := func(apart func(h, f biquad.Filter) float64, most float64) (pairs []Pair) {
		for {
			a, b, least := -1, -1, most
			for i, h := range missed {
				for j, f := range heard {
					if d := apart(h, f); d <= least {
						a, b, least = i, j, d
					}
				}
			}
			if a < 0 {
				return pairs
			}
			pairs = append(pairs, Pair{missed[a], heard[b]})
			missed, heard = slices.Delete(missed, a, a+1), slices.Delete(heard, b, b+1)
		}
	}
	octaves := func(h, f biquad.Filter) float64 { return math.Abs(math.Log2(f.FreqHz / h.FreqHz)) }
	left := func(h, f biquad.Filter) float64 {
		if octaves(h, f) > foundOct {
			return math.Inf(1)
		}
		return curvesApart([]biquad.Filter{h}, []biquad.Filter{f}, rateHz) / curvesApart([]biquad.Filter{h}, nil, rateHz)
	}
	m.Found = pair(left, foundShare)
	if m.OffDB <= togetherShare*m.HiddenDB {
		for _, h := range missed {
			m.Found = append(m.Found, Pair{Hidden: h})
		}
		return m
	}
	// The same share on purpose: only the sign is wrong, so the inverted answer need be no nearer than a
	// right one. Below 1 no answer can be both.
	m.WrongWay = pair(func(h, f biquad.Filter) float64 {
		f.GainDB = -f.GainDB
		return left(h, f)
	}, foundShare)
	m.Confused = pair(octaves, math.Inf(1))
	m.Missed, m.Invented = missed, heard
	return m
}

// Score is the share of the hidden curve that was heard, less what was heard wrong, from 0 to 1: 1 for the exact curve,
// 0 for an answer no nearer than none.
func (m Mark) Score() float64 {
	if m.HiddenDB == 0 {
		return 0
	}
	return math.Max(0, 1-m.OffDB/m.HiddenDB)
}

// curvesApart returns the rms difference of two responses in dB over the marked bands, each band of
// 1/24 octave with the same weight, the mean removed.
func curvesApart(a, b []biquad.Filter, rateHz float64) float64 {
	centres := spectrum.Centres()
	marked := make(spectrum.Judged, len(centres))
	for i, hz := range centres {
		marked[i] = hz >= markedHz[0] && hz <= math.Min(markedHz[1], 0.45*rateHz)
	}
	x := biquad.ResponseDB(nil, asJudged(a), centres, rateHz)
	floats.Sub(x, biquad.ResponseDB(nil, asJudged(b), centres, rateHz))
	return marked.Distance(x)
}

// Total is the result of a sheet. OffDB, HiddenDB and Score are means over the renders. A render scores 0 at least, so
// that one wild answer does not take away what was heard in the others: Score may be above 0 where OffDB is above
// HiddenDB, and is shown beside each render's.
type Total struct {
	OffDB, HiddenDB, Score float64

	Hidden, Found, WrongWay, Confused, Missed, Invented int
}

// TotalOf sums up marks.
func TotalOf(marks []Mark) Total {
	var t Total
	for _, m := range marks {
		n := float64(len(marks))
		t.OffDB += m.OffDB / n
		t.HiddenDB += m.HiddenDB / n
		t.Score += m.Score() / n
		t.Found += len(m.Found)
		t.WrongWay += len(m.WrongWay)
		t.Confused += len(m.Confused)
		t.Missed += len(m.Missed)
		t.Invented += len(m.Invented)
	}
	t.Hidden = t.Found + t.WrongWay + t.Confused + t.Missed
	return t
}
