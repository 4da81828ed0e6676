package tracks

import (
	"maps"
	"slices"
	"testing"
)

// canBeTold reports whether every smaller set of faders leaves WorthDB more for each fader that it
// lacks. Otherwise the plan with fewer faders is the right one by its own rule, and the fault is no
// case for it: a track that the others hide, or three of five tracks that are about as much too loud.
func canBeTold(s *session, f fault) bool {
	ref, lagSec, ok := s.copyOf()
	if !ok { // it is not seen as the same song: the plan's fault, not the case's
		return true
	}
	x := &search{s, s.cellsOf(ref, lagSec)}
	var truth []action
	for _, k := range slices.Sorted(maps.Keys(f.faders)) {
		truth = append(truth, action{track: k, gainDB: -f.faders[k]})
	}
	left := x.leaves(x.effectOf(truth))
	var told func(set []action, from int) bool
	told = func(set []action, from int) bool {
		lacks := float64(len(truth) - len(set))
		if lacks == 0 {
			return true
		}
		if x.refine(set).leftDB < left+WorthDB*lacks {
			return false
		}
		for k := from; k < len(s.tracks); k++ {
			if x.power[k] != nil && !told(append(slices.Clone(set), action{track: k}), k+1) {
				return false
			}
		}
		return true
	}
	return told(nil, 0)
}

// sameBalance reports whether faders, no more than the fault has, take the tracks to the right balance
// at another level: of four tracks, three up are the fourth down.
func sameBalance(s *session, p *Plan, f fault) bool {
	if p == nil || len(p.Faders) > len(f.faders) || len(p.Filters)+len(p.Widths) > 0 {
		return false
	}
	var off []float64
	for k, t := range s.tracks {
		if t.state != Heard {
			continue
		}
		db := f.faders[k]
		for _, x := range p.Faders {
			if x.Track == k {
				db += x.GainDB
			}
		}
		off = append(off, db)
	}
	return slices.Max(off)-slices.Min(off) <= 2*faderToleranceDB
}

func TestSameBalance(t *testing.T) {
	s := &session{tracks: []*track{{state: Heard}, {state: Heard}, {state: Silent}}}
	f := fault{faders: map[int]float64{0: 4}}
	for gain, want := range map[float64]bool{4: true, 3: false, 0: false} {
		if sameBalance(s, &Plan{Faders: []Fader{{Track: 1, GainDB: gain}}}, f) != want {
			t.Errorf("a track 4 dB too loud, the other %v dB up: not %v", gain, want)
		}
	}
	if sameBalance(s, nil, f) {
		t.Error("no plan gives no balance")
	}
}
