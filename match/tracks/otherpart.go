package tracks

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
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
	apart  float64      // median over moments: how far the sounds of the rest stay from a moment of the mix, in dB
}

const (
	stretches  = 6    // of the mix. Tried on songs: with 3 fewer hints are found, 9 do alike
	partBlocks = 8    // of the jackknife; our choice
	leastShare = 0.02 // of a track with a hint; our choice
	// otherNotesDB is added, in quadrature, to the jackknife's standard deviation: other notes are not
	// quite the same sound, and are not played as loud. Chosen on songs.
	otherNotesDB = 1.0
	// A track with buriedShare of the mix is that sure; a larger one is surer and a smaller one less,
	// with this power of its share. On the ten songs chosen on, errors over standard deviations are
	// then alike at all shares; without it 1.2 at a fiftieth and 0.5 at half of the mix.
	buriedShare, buriedPower = 0.1, 0.15
)

func (s *session) otherPart(bypass bool) *otherPart {
	x := &otherPart{search: &search{s, s.cellsOf(nil, 0)}, powers: make([]*mat.Dense, len(s.tracks)),
		share: make([]float64, len(s.tracks)), mixDB: make([][]float64, len(s.tracks))}
	if bypass {
		x.bypassEqualiser()
	}
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
	var apart []float64
	for n := range stretches {
		from, to := n*x.moments/stretches, (n+1)*x.moments/stretches
		levels, part := soundsOf(x.powers, from, to).unmix(mat.DenseCopyOf(mix.Slice(0, len(x.thirds), from, to)), len(s.tracks))
		for k, db := range levels {
			x.mixDB[k] = append(x.mixDB[k], db...)
		}
		apart = append(apart, part...)
	}
	x.apart = median(apart)
	return x
}

// bypassEqualiser takes what an equaliser on the master does out of the mix and the tracks, so that it is
// not taken for louder or softer tracks.
func (x *otherPart) bypassEqualiser() {
	for i, third := range x.thirds {
		over := 1 / (x.master[third] * x.master[third])
		for _, cells := range slices.Concat([][]float64{x.mix}, x.power, x.re) {
			if cells != nil {
				floats.Scale(over, cells[i*x.moments:][:x.moments])
			}
		}
	}
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
	middleSD float64 // of a hint: of what the other tracks have in common, from which db is counted
}

// compared returns how much louder the tracks are in cells of a reference, and how unlike their sounds
// it is: what they leave of its best moments, over what they leave of the mix.
func (x *otherPart) compared(cells []float64) (all []louder, unlike float64) {
	levels, apart := soundsOf(x.powers, 0, 0).unmix(x.whitened(cells), len(x.tracks))
	const bestMoments = 0.1 // the others may hold sounds that the mix has not; our choice
	unlike = quantile(slices.Sorted(slices.Values(apart)), bestMoments) / max(x.apart, tiny)
	for k, refDB := range levels {
		if x.share[k] < leastShare {
			continue
		}
		var draws []float64
		for b := range partBlocks {
			draws = append(draws, levelWithout(refDB, b)-levelWithout(x.mixDB[k], b))
		}
		// What plays only at times has another level at the next, and what is buried is unmixed less well.
		often := min(share(plays(refDB)), share(plays(levelsOf(x.powers[k]))))
		sdDB := math.Hypot(jackknife(draws), otherNotesDB) / math.Sqrt(often) * math.Pow(buriedShare/x.share[k], buriedPower)
		l := louder{track: k, db: levelWithout(refDB, -1) - levelWithout(x.mixDB[k], -1), sdDB: sdDB}
		if !math.IsNaN(l.sdDB) {
			all = append(all, l)
		}
	}
	return all, unlike
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

// sounds are spectra of single tracks at moments in which they play.
type sounds struct {
	spectra *mat.Dense // [third octave][sound], each sums to 1
	track   []int      // whose each sound is
}

const (
	// mostSounds bounds the moments that are used of each track. Tried on songs: 12, 24 and 60 do
	// alike.
	mostSounds = 24
	// playsDB is how far under its loud moments a track still plays. Tried on songs: with 8 and 12
	// fewer hints are found, with 22 too.
	playsDB = 15
	// unmixSteps is how often the shares are improved. Tried on songs: 80 do no better.
	unmixSteps = 30
)

// soundsOf returns the sounds of tracks, each as [third octave][moment], without moments from…to−1;
// a nil track has none.
func soundsOf(tracks []*mat.Dense, from, to int) (s sounds) {
	var columns [][]float64
	for k, t := range tracks {
		if t == nil {
			continue
		}
		var playing []int
		for m, yes := range plays(levelsOf(t)) {
			if yes && (m < from || m >= to) {
				playing = append(playing, m)
			}
		}
		for i := range min(mostSounds, len(playing)) {
			column := mat.Col(nil, playing[i*len(playing)/min(mostSounds, len(playing))], t)
			columns, s.track = append(columns, column), append(s.track, k)
		}
	}
	if len(columns) > 0 {
		s.spectra = mat.NewDense(len(columns[0]), len(columns), nil)
	}
	for i, c := range columns {
		floats.Scale(1/floats.Sum(c), c)
		s.spectra.SetCol(i, c)
	}
	return s
}

// unmix explains each moment of v, [third octave][moment], as a sum of the sounds, each at a level
// of its own. It returns the level of each track in dB, [track][moment], and for each moment the mean
// distance in dB between v and the sum. Without sounds nothing is explained.
//
// Method: the sounds' shares H ≥ 0 minimise the Itakura–Saito divergence between V and D·H, which
// counts a third octave alike at any level, by the multiplicative steps that never increase it:
//
//	H ← H·√( Dᵀ(V/(DH)²) / Dᵀ(1/(DH)) )
//
// Source: C. Févotte and J. Idier, Neural Computation 23 (2011), 2421–2456 (from memory).
func (s sounds) unmix(v *mat.Dense, tracks int) (levelDB [][]float64, apartDB []float64) {
	thirds, moments := v.Dims()
	for range tracks {
		levelDB = append(levelDB, slices.Repeat([]float64{spectrum.PowerToDB(tiny)}, moments))
	}
	if len(s.track) == 0 {
		return levelDB, slices.Repeat([]float64{math.Inf(1)}, moments)
	}
	floor := make([]float64, moments)
	for m := range floor {
		floor[m] = max(mat.Max(v.ColView(m))*spectrum.DBToPower(-deepDB), tiny)
	}
	v.Apply(func(_, m int, power float64) float64 { return max(power, floor[m]) }, v)
	h := mat.NewDense(len(s.track), moments, nil)
	h.Apply(func(_, m int, _ float64) float64 { return mat.Sum(v.ColView(m)) / float64(len(s.track)) }, h)
	var sum, power, up, down mat.Dense
	for range unmixSteps {
		sum.Mul(s.spectra, h)
		power.Apply(func(i, m int, x float64) float64 { return v.At(i, m) / max(x*x, tiny) }, &sum)
		up.Mul(s.spectra.T(), &power)
		power.Apply(func(_, _ int, x float64) float64 { return 1 / max(x, tiny) }, &sum)
		down.Mul(s.spectra.T(), &power)
		h.Apply(func(i, m int, x float64) float64 { return x * math.Sqrt(up.At(i, m)/down.At(i, m)) }, h)
	}
	sum.Mul(s.spectra, h)
	apartDB = make([]float64, moments)
	for i := range thirds {
		for m := range moments {
			apartDB[m] += math.Abs(spectrum.PowerToDB(v.At(i, m)/max(sum.At(i, m), floor[m]))) / float64(thirds)
		}
	}
	for k := range levelDB {
		for m := range moments {
			power := 0.0
			for i, track := range s.track {
				if track == k {
					power += h.At(i, m)
				}
			}
			levelDB[k][m] = spectrum.PowerToDB(max(power, tiny))
		}
	}
	return levelDB, apartDB
}

// levelsOf returns the level of each moment in dB, of all third octaves together.
func levelsOf(t *mat.Dense) (db []float64) {
	_, moments := t.Dims()
	for m := range moments {
		db = append(db, spectrum.PowerToDB(max(mat.Sum(t.ColView(m)), tiny)))
	}
	return db
}

// plays reports in which moments a track plays; never where it is silent.
func plays(levelDB []float64) []bool {
	const loud = 0.95 // quantile; our choice
	yes := make([]bool, len(levelDB))
	least := max(quantile(slices.Sorted(slices.Values(levelDB)), loud)-playsDB, spectrum.PowerToDB(tiny))
	for m, db := range levelDB {
		yes[m] = db > least
	}
	return yes
}
