package tracks

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"toneplumb/biquad"
	"toneplumb/spectrum"
)

const (
	// tooUnlike: a reference whose best moments leave more, over what the mix leaves (see compared), is
	// another song. On the ten songs chosen on, another part left 0.6 to 0.9, another song 1.5 to 4.1
	// and once 0.75.
	tooUnlike = 1.1
	mostHints = 3 // our choice
	// mostSD is the largest standard deviation of a hint in dB: a jackknife that gives more is itself
	// unsure.
	mostSD = 2.0
	// leastDrop is the share of the distance to the most similar moments that each hint must remove.
	leastDrop = 0.03
	// byMaster: there are no hints if a filter on the master leaves less than this share of what they
	// leave. All chosen on songs.
	byMaster = 0.9
)

// planByOtherPart gives hints beside another part of the song. Whether that runs through the equaliser on
// the mix's master too is not known, so behind one a hint must be found with it and without.
func (s *session) planByOtherPart(p *Plan) *Plan {
	if len(s.seconds) < leastSeconds {
		return nil
	}
	kept, ok := s.hintsBeside(false)
	if ok && s.master != nil {
		bypassed, _ := s.hintsBeside(true)
		kept = slices.DeleteFunc(bypassed, func(l louder) bool {
			return !slices.ContainsFunc(kept, func(k louder) bool { return k.track == l.track && k.db*l.db > 0 })
		})
	}
	if !ok {
		return nil
	}
	var actions []action
	for _, l := range kept {
		actions = append(actions, l.action())
	}
	s.fill(p, s.dialled(actions))
	for i := range p.Faders {
		f := &p.Faders[i]
		for _, l := range kept {
			if l.track == f.Track {
				f.LowDB, f.HighDB = l.likely(f.GainDB)
			}
		}
	}
	return p
}

// hintsBeside compares the levels of the tracks with those in another part of the song, with the equaliser on
// the master or without. Of several references it takes the one that the tracks' sounds explain best; false if none
// suits.
func (s *session) hintsBeside(bypass bool) (kept []louder, ok bool) {
	x := s.otherPart(bypass)
	var found []louder
	var y *similar
	least := tooUnlike
	for _, ref := range s.r.References {
		if ref.RowSec != 1 { // a profile has longer rows
			continue
		}
		cells, moments := x.momentsOf(ref)
		if moments < leastSeconds {
			continue
		}
		if all, unlike := x.compared(cells); unlike < least {
			found, y, least = all, x.similarTo(cells, moments), unlike
		}
	}
	if y == nil {
		return nil, false
	}
	return y.kept(hints(found)), true
}

// likely returns the likely range of a hint, on its side of 0: that it stands out from the others is known
// better than how far, since their middle has an error too.
func (l louder) likely(gainDB float64) (lowDB, highDB float64) {
	const leastDB = 0.5 // our choice: a step nobody would hear is no hint
	half := bandFactor * math.Hypot(l.sdDB, l.middleSD)
	if gainDB > 0 {
		return max(gainDB-half, leastDB), gainDB + half
	}
	return gainDB - half, min(gainDB+half, -leastDB)
}

func (l louder) action() action { return action{track: l.track, gainDB: l.db} }

// hints returns the tracks that lie farthest from the others, in standard deviations, one after
// another, each against the median of those that are left, as long as its likely range leaves that
// out. There are none if it takes more than mostHints: that is another song, or another arrangement.
func hints(all []louder) (off []louder) {
	const fewest = 2 // others; of two tracks nobody can say which is off
	rest := slices.Clone(all)
	for len(rest) > fewest {
		level, far := middle(rest), 0
		for i, l := range rest {
			if math.Abs(l.db-level)/l.sdDB > math.Abs(rest[far].db-level)/rest[far].sdDB {
				far = i
			}
		}
		if math.Abs(rest[far].db-level) <= bandFactor*rest[far].sdDB {
			break
		}
		off, rest = append(off, rest[far]), slices.Delete(rest, far, far+1)
	}
	if len(off) > mostHints {
		return nil
	}
	for i := range off {
		off[i].db, off[i].middleSD = off[i].db-middle(rest), middleSD(rest)
	}
	return slices.DeleteFunc(off, func(l louder) bool {
		return l.sdDB > mostSD || math.Abs(l.db) > mostHintDB || math.Abs(l.db) <= bandFactor*l.sdDB
	})
}

// middle returns the median of tracks weighted by 1/sd, in dB: the mean of the lower and the upper one.
func middle(of []louder) float64 {
	median := func(sign float64) float64 {
		var db, weight []float64
		for _, l := range of {
			db, weight = append(db, sign*l.db), append(weight, 1/l.sdDB)
		}
		stat.SortWeighted(db, weight)
		return sign * stat.Quantile(0.5, stat.Empirical, db, weight)
	}
	return (median(1) + median(-1)) / 2
}

// middleSD returns the standard deviation in dB of the middle of tracks: √(π/2) times that of the mean weighted
// by 1/sd², as for the median of normal errors, weighted by 1/sd (asymptotic; from memory).
func middleSD(of []louder) float64 {
	precision := 0.0
	for _, l := range of {
		precision += 1 / (l.sdDB * l.sdDB)
	}
	return math.Sqrt(math.Pi / 2 / precision)
}

// kept drops hints that do not make the mix more similar, the least useful first, and all of them if a
// filter on the master does better.
func (y *similar) kept(off []louder) []louder {
	first := y.left(nil)
	for len(off) > 0 {
		var actions []action
		for _, l := range off {
			actions = append(actions, l.action())
		}
		left, worst, least := y.left(actions), -1, leastDrop*first
		for i := range off {
			if drop := y.left(slices.Delete(slices.Clone(actions), i, i+1)) - left; drop < least {
				worst, least = i, drop
			}
		}
		if worst < 0 {
			if y.leftByMaster() < byMaster*left {
				return nil
			}
			break
		}
		off = slices.Delete(off, worst, worst+1)
	}
	return off
}

// similar judges hints beside another part of a song. As there is no same moment, each moment is
// compared with the most similar one on the other side, level removed, in both directions. A wrong
// fader makes all moments dissimilar in which its track sounds.
type similar struct {
	*search
	floorDB []float64   // for each third octave
	ref     [][]float64 // [moment][third], dB
}

// farDB is the distance beyond which a third octave is weighted linearly, not squared. Our choice: a
// note that one side lacks.
const farDB = 3.0

// similarTo collects the moments of another part of the song, from cells of so many moments.
func (x *otherPart) similarTo(cells []float64, moments int) *similar {
	y := &similar{search: x.search, ref: make([][]float64, moments)}
	for i := range x.thirds {
		y.floorDB = append(y.floorDB, spectrum.PowerToDB(max(x.white[i]*spectrum.DBToPower(-weakDB), tiny)))
		for m := range moments {
			y.ref[m] = append(y.ref[m], spectrum.PowerToDB(max(cells[i*moments+m], tiny)))
		}
	}
	y.level(y.ref)
	return y
}

// level clamps each third octave at its floor and removes each moment's mean.
func (y *similar) level(all [][]float64) {
	for _, v := range all {
		for i := range v {
			v[i] = max(v[i], y.floorDB[i])
		}
		floats.AddConst(-stat.Mean(v, nil), v)
	}
}

// left returns the mean distance in dB of each moment to the most similar one on the other side, with
// actions on the mix, averaged over both directions.
func (y *similar) left(actions []action) float64 {
	e, power := y.effects(actions), make([]float64, len(y.mix))
	y.changed(e, power)
	mix := make([][]float64, y.moments)
	for m := range mix {
		for i, third := range y.thirds {
			at := i*y.moments + m
			db := spectrum.PowerToDB(max(power[at], y.mix[at]*1e-3, tiny) / float64(y.each))
			if e.master != nil {
				db += e.master[third]
			}
			mix[m] = append(mix[m], db)
		}
	}
	y.level(mix)
	toRef, toMix := slices.Repeat([]float64{math.Inf(1)}, len(mix)), slices.Repeat([]float64{math.Inf(1)}, len(y.ref))
	for m, v := range mix {
		for j, w := range y.ref {
			d := apartDB(v, w)
			toRef[m], toMix[j] = min(toRef[m], d), min(toMix[j], d)
		}
	}
	return (stat.Mean(toRef, nil) + stat.Mean(toMix, nil)) / 2
}

// apartDB returns the root mean square distance of two moments, linear beyond farDB.
func apartDB(v, w []float64) float64 {
	sum := 0.0
	for i := range v {
		sum += huber(v[i]-w[i], farDB)
	}
	return math.Sqrt(sum / float64(len(v)))
}

// leftByMaster returns the distance left by the best of a few filters on the master.
func (y *similar) leftByMaster() float64 {
	least := math.Inf(1)
	try := func(f biquad.Filter) {
		for _, g := range []float64{-5, -2.5, 2.5, 5} { // our choice: coarse, for a comparison
			f.GainDB = g
			least = min(least, y.left([]action{{track: -1, filter: f, isFilter: true}}))
		}
	}
	for hz := 63.0; hz < min(13000, 0.4*y.RateHz); hz *= 2 {
		try(biquad.Filter{Shape: biquad.Bell, FreqHz: hz, Q: 0.8})
		if hz < 500 {
			try(biquad.Filter{Shape: biquad.LowShelf, FreqHz: hz, Q: math.Sqrt2 / 2})
		} else if hz > 1000 {
			try(biquad.Filter{Shape: biquad.HighShelf, FreqHz: hz, Q: math.Sqrt2 / 2})
		}
	}
	return least
}
