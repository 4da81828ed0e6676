package training

import (
	"math"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/spectrum"
)

// Practice is what a page needs to hide moves by itself: the moves that tasks are drawn from, each
// with the gain that keeps the loudness.
type Practice struct {
	StepDB float64         `json:"step_db"` // of gains
	BellQ  float64         `json:"bell_q"`
	Slope  float64         `json:"slope"` // of shelves, S
	Places []PracticePlace `json:"places"`
}

// PracticePlace is a shape in a zone. An answer names it with boost or cut.
type PracticePlace struct {
	Shape biquad.Shape   `json:"-"`
	Name  string         `json:"shape"` // in words; the page's to fill in
	Zone  string         `json:"zone"`
	Share int            `json:"share"` // weight among the places
	Moves []PracticeMove `json:"moves"` // one of them is hidden
}

// PracticeMove is a move at a frequency. UpDB and DownDB are the level changes in dB that keep the
// loudness, for boosts and cuts of one gain step, two steps and so on.
type PracticeMove struct {
	FreqHz float64   `json:"hz"`
	UpDB   []float64 `json:"up_db"`
	DownDB []float64 `json:"down_db"`

	// Same are the answers that sound like the move: places by number from 1, negative if the
	// direction is opposite.
	Same []int `json:"same"`
}

// Practice moves. Our choice.
const (
	practiceQ      = 1.0  // the middle of what tasks hide
	practiceMostDB = 12.0 // the largest gain in tasks

	// practiceShare is the largest share of a hidden move that another one of the same gain may
	// leave to count as sounding like it. Of 30 answers 2.2 are then right by chance, one in 14.
	practiceShare = foundShare
	practiceDB    = 6.0 // that gain, the middle of the range
)

// Practice returns the moves that are audible in the excerpt at the largest gain, by the rules of
// [Easy].
func (h *Hearing) Practice() Practice {
	p := Practice{StepDB: gainStepDB, BellQ: practiceQ, Slope: shelfSlope}
	var heard []place
	for _, at := range places {
		out := PracticePlace{Shape: at.shape, Zone: match.Zones()[at.zone].Name, Share: at.share}
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

// practiceMove returns a move with its levels; not ok if the boost or the cut is inaudible.
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

// soundingLike returns the answers that sound like a move, see [PracticeMove].
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

// levelDB returns the gain that makes the excerpt through a move as loud as before.
func (h *Hearing) levelDB(f biquad.Filter) float64 {
	_, level := h.factor([]biquad.Filter{f})
	return spectrum.PowerToDB(level)
}
