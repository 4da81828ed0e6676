package tracks

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"

	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
)

// otherPart compares a mix with another part of its song. No moment is the same there, but each
// track plays the same sounds. So the reference is unmixed into the sounds that the tracks have in
// the mix, and each track's level where it plays is compared with its level in the mix. The mix is
// unmixed as well, each stretch into the sounds of the others, so that both levels err alike.
type otherPart struct {
	*search
	white  []float64    // the mix's mean power in each third octave, by which powers are divided
	powers []*mat.Dense // of the tracks, [third octave][moment]; nil for tracks that are not heard
	share  []float64    // of each track, with all third octaves alike
	mixDB  [][]float64  // level of each track in each moment of the mix, unmixed
}

const (
	stretches  = 6    // of the mix. Tried on songs: with 3 fewer hints are found, 9 do alike
	partBlocks = 8    // of the jackknife; our choice
	leastShare = 0.02 // of a track with a hint; our choice
	// otherNotesDB is added, in quadrature, to the jackknife's standard deviation: other notes are not
	// quite the same sound, and are not played as loud. Chosen on songs.
	otherNotesDB = 1.0
)

func (s *session) otherPart() *otherPart {
	x := &otherPart{search: &search{s, s.cellsOf(nil, 0)}, powers: make([]*mat.Dense, len(s.tracks)),
		share: make([]float64, len(s.tracks)), mixDB: make([][]float64, len(s.tracks))}
	for i := range x.thirds {
		x.white = append(x.white, stat.Mean(x.mix[i*x.moments:][:x.moments], nil))
	}
	mix := x.whitened(x.mix)
	for k, power := range x.power {
		if power != nil {
			x.powers[k] = x.whitened(power)
			x.share[k] = mat.Sum(x.powers[k]) / mat.Sum(mix)
		}
	}
	for n := range stretches {
		from, to := n*x.moments/stretches, (n+1)*x.moments/stretches
		levels, _ := soundsOf(x.powers, from, to).unmix(mat.DenseCopyOf(mix.Slice(0, len(x.thirds), from, to)), len(s.tracks))
		for k, db := range levels {
			x.mixDB[k] = append(x.mixDB[k], db...)
		}
	}
	return x
}

// whitened returns cells as [third octave][moment], over the mix's mean in each third octave.
func (x *otherPart) whitened(cells []float64) *mat.Dense {
	least := slices.Max(x.white) * spectrum.DBToPower(-deepDB)
	out := mat.NewDense(len(x.thirds), len(cells)/len(x.thirds), slices.Clone(cells))
	out.Apply(func(i, _ int, power float64) float64 { return power / max(x.white[i], least) }, out)
	return out
}

// deepDB bounds how far a third octave lies under the loudest; our choice.
const deepDB = 50

// momentsOf returns the cells of a reference, from seconds that pass its gate.
func (x *otherPart) momentsOf(ref *measure.Recording) (cells []float64, moments int) {
	var rows []int
	for row, w := range ref.GateWeights() {
		if w > 0.5 {
			rows = append(rows, row)
		}
	}
	each := max(1, (len(rows)+mostMoments-1)/mostMoments)
	moments = len(rows) / each
	cells = make([]float64, len(x.thirds)*moments)
	for i, third := range x.thirds {
		for n, row := range rows[:moments*each] {
			cells[i*moments+n/each] += thirdOf(ref, row, third) / float64(each)
		}
	}
	return cells, moments
}

// louder is how much louder a track is in the reference than in the mix, up to what all tracks have
// in common.
type louder struct {
	track    int
	db, sdDB float64
}

// compared returns how much louder the tracks are in cells of a reference, and the mean distance in
// dB between the reference and the sum of their sounds.
func (x *otherPart) compared(cells []float64) (all []louder, apartDB float64) {
	levels, apartDB := soundsOf(x.powers, 0, 0).unmix(x.whitened(cells), len(x.tracks))
	for k, refDB := range levels {
		if x.share[k] < leastShare {
			continue
		}
		var draws []float64
		for b := range partBlocks {
			draws = append(draws, levelWithout(refDB, b)-levelWithout(x.mixDB[k], b))
		}
		// What plays only at times has another level at the next.
		often := min(share(plays(refDB)), share(plays(levelsOf(x.powers[k]))))
		l := louder{k, levelWithout(refDB, -1) - levelWithout(x.mixDB[k], -1), math.Hypot(jackknife(draws), otherNotesDB) / math.Sqrt(often)}
		if !math.IsNaN(l.sdDB) {
			all = append(all, l)
		}
	}
	return all, apartDB
}

// share returns the share of moments that are true.
func share(yes []bool) float64 {
	n := 0.0
	for _, y := range yes {
		if y {
			n++
		}
	}
	return n / float64(len(yes))
}

// levelWithout returns the mean level in dB of a track where it plays, without one block of moments;
// −1: of all. Levels far from their median are taken as farDB from it. It is NaN where nothing is
// left.
func levelWithout(db []float64, block int) float64 {
	var some []float64
	for m, yes := range plays(db) {
		if yes && m*partBlocks/len(db) != block {
			some = append(some, db[m])
		}
	}
	const farDB = 6 // tried on songs: with 3 and 4, or the median, fewer hints are found
	middle := median(some)
	for i, v := range some {
		some[i] = min(max(v, middle-farDB), middle+farDB)
	}
	return stat.Mean(some, nil)
}
