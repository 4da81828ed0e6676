package training

import (
	"math"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/words"
	"toneplumb/spectrum"
)

// Practice is what a page needs to hide moves by itself: those that tasks are drawn from,
// each turned so that the sound stays as loud.
type Practice struct {
	StepDB float64         `json:"step_db"` // of gains
	BellQ  float64         `json:"bell_q"`
	Slope  float64         `json:"slope"` // of shelves, S
	Places []PracticePlace `json:"places"`
}

// PracticePlace is a shape in a zone, which an answer names with the way it goes.
type PracticePlace struct {
	Shape string         `json:"shape"` // "low shelf"
	Zone  string         `json:"zone"`
	Share int            `json:"share"` // how often it comes up, beside the other places
	Moves []PracticeMove `json:"moves"` // one of them is hidden
}

// PracticeMove is a move at a frequency. UpDB and DownDB are by how much the sound is to be
// turned, in dB, so that it stays as loud, at gains of one step, two steps and so on.
type PracticeMove struct {
	FreqHz float64   `json:"hz"`
	UpDB   []float64 `json:"up_db"`
	DownDB []float64 `json:"down_db"`

	// Same are the answers that sound like the move: numbers in Places from 1 where they
	// go the same way, below 0 where they go the other.
	Same []int `json:"same"`
}

// Our choice.
const (
	practiceQ      = 1.0  // the middle of what tasks hide
	practiceMostDB = 12.0 // as far as tasks go

	// practiceShare is how much of a hidden move another of the same gain leaves at most that
	// sounds like it. Of 30 answers 2.2 are then right by chance, one in 14. An answer has
	// no gain here, so less is allowed than on a sheet, see foundShare.
	practiceShare = 0.5
	practiceDB    = 6.0 // that gain, the middle of the range
)

// Practice returns the moves that can be heard in the excerpt at the largest gain, by the rules of
// [Easy].
func (h *Hearing) Practice() Practice {
	p := Practice{StepDB: gainStepDB, BellQ: practiceQ, Slope: shelfSlope}
	var heard []place
	for _, at := range places {
		out := PracticePlace{Shape: words.Shape(at.shape), Zone: match.Zones()[at.zone].Name, Share: at.share}
		for _, hz := range at.hz {
			if m, ok := h.practiceMove(at.shape, hz); ok {
				out.Moves = append(out.Moves, m)
			}
		}
		if len(out.Moves) > 0 {
			p.Places, heard = append(p.Places, out), append(heard, at)
		}
	}
	for i, out := range p.Places {
		for k, m := range out.Moves {
			p.Places[i].Moves[k].Same = h.soundingLike(practiceFilter(heard[i].shape, m.FreqHz, practiceDB), heard)
		}
	}
	return p
}

func practiceFilter(shape biquad.Shape, hz, gainDB float64) biquad.Filter {
	f := biquad.Filter{Shape: shape, FreqHz: hz, GainDB: gainDB, Q: practiceQ}
	if shape != biquad.Bell {
		f.Q = biquad.QFromSlope(shelfSlope, gainDB)
	}
	return f
}

// practiceMove returns a move with its levels; not ok where it cannot be heard either way.
func (h *Hearing) practiceMove(shape biquad.Shape, hz float64) (m PracticeMove, ok bool) {
	turned := func(sign float64) (db []float64) {
		for gain := gainStepDB; gain <= practiceMostDB; gain += gainStepDB {
			db = append(db, math.Round(100*h.levelDB(practiceFilter(shape, hz, sign*gain)))/100)
		}
		return db
	}
	for _, gainDB := range []float64{practiceMostDB, -practiceMostDB} {
		f := practiceFilter(shape, hz, gainDB)
		if f.Check(h.rateHz) != nil || h.Change([]biquad.Filter{f}).ExcitationDB < Easy.Rules().ExcitationDB {
			return m, false
		}
	}
	return PracticeMove{FreqHz: hz, UpDB: turned(1), DownDB: turned(-1)}, true
}

// soundingLike returns the answers that sound like a move, see PracticeMove.Same.
func (h *Hearing) soundingLike(hidden biquad.Filter, answers []place) (same []int) {
	whole := curvesApart([]biquad.Filter{hidden}, nil, h.rateHz)
	for i, a := range answers {
		for _, sign := range []int{1, -1} {
			for _, hz := range a.hz {
				answer := practiceFilter(a.shape, hz, float64(sign)*hidden.GainDB)
				if curvesApart([]biquad.Filter{hidden}, []biquad.Filter{answer}, h.rateHz) <= practiceShare*whole {
					same = append(same, sign*(i+1))
					break
				}
			}
		}
	}
	return same
}

// levelDB is by how much the excerpt through a move is to be turned to be as loud as before.
func (h *Hearing) levelDB(f biquad.Filter) float64 {
	factor := h.factor([]biquad.Filter{f})
	if factor == nil {
		return 0
	}
	b := len(factor) / 2 // any band will do: what the move does not do there is the level
	own := biquad.ResponseDB(nil, []biquad.Filter{f}, []float64{spectrum.CentreHz(b)}, h.rateHz)[0]
	return spectrum.PowerToDB(factor[b]) - own
}
