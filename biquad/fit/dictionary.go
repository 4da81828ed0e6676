package fit

import (
	"cmp"
	"math"
	"slices"

	"toneplumb/biquad"
)

// atom is a move that can be added, with what 1 dB of it does to the residual.
type atom struct {
	move
	half      uint16    // half octaves above the lowest frequency
	perDB     []float64 // at judged bands, like model.residual
	low, high float64   // least and greatest gain in dB
}

// The moves that are tried. Our choice: bells a third of an octave apart in three
// widths, shelves half an octave in two; finer ones found no more.
const (
	bellStep, bellWidths   = math.Ln2 / 3, 3
	shelfStep, shelfWidths = math.Ln2 / 2, 2
)

// dictionary returns the moves that are tried, inside the equaliser's ranges.
func (m *model) dictionary() []atom {
	var all []atom
	lowest := math.Inf(1)
	for _, shape := range shapes {
		if m.limits[shape].Count > 0 {
			lowest = min(lowest, m.boxes[shape].low[biquad.ByLnFreq])
		}
	}
	for _, shape := range shapes {
		if m.limits[shape].Count == 0 {
			continue
		}
		step, widths := shelfStep, shelfWidths
		if shape == biquad.Bell {
			step, widths = bellStep, bellWidths
		}
		b := &m.boxes[shape]
		span := b.high[biquad.ByLnFreq] - b.low[biquad.ByLnFreq]
		places := max(1, int(math.Ceil(span/step)))
		for i := range places * widths {
			a := atom{move: move{shape: shape}, low: b.low[biquad.ByGainDB], high: b.high[biquad.ByGainDB]}
			between := func(parameter, step, steps int) {
				share := (float64(step) + 0.5) / float64(steps)
				a.at[parameter] = b.low[parameter] + (b.high[parameter]-b.low[parameter])*share
			}
			between(biquad.ByLnFreq, i/widths, places)
			between(biquad.ByWidth, i%widths, widths)
			a.half = uint16((a.at[biquad.ByLnFreq] - lowest) / (math.Ln2 / 2))
			if a.perDB = m.perDB(a.move, (a.high-a.low)/4); a.perDB != nil {
				all = append(all, a)
			}
		}
	}
	return all
}

// perDB returns what mv does at a gain of gainDB, divided by that, or nil if that is
// nothing.
func (m *model) perDB(mv move, gainDB float64) []float64 {
	const nothing = 1e-6 // dB rms per dB
	if gainDB == 0 {
		return nil
	}
	mv.at[biquad.ByGainDB] = gainDB
	m.cost([]move{mv})
	column := make([]float64, len(m.residual))
	for i, r := range m.residual {
		column[i] = (r + m.target[i]) / gainDB
	}
	if dot(column, column) < nothing*nothing {
		return nil
	}
	return column
}

// kindOf tells four kinds of move apart: bells up and down, shelves tilting the
// curve up and down. A low shelf and a high shelf of the opposite gain differ by a
// constant, and the level does not count.
func kindOf(shape biquad.Shape, gain float64) uint16 {
	var kind uint16
	if shape != biquad.Bell {
		kind = 2
	}
	if (gain > 0) != (shape == biquad.LowShelf) {
		kind++
	}
	return kind
}

// cell is the same for atoms of one kind in one half octave.
func (a *atom) cell(gain float64) uint16 { return a.half<<2 | kindOf(a.shape, gain) }

// candidate is an atom with the gain it should start at and the decrease of the cost that
// the linear model promises.
type candidate struct {
	index          int // of the atom
	gain, decrease float64
}

// candidate returns the atom with its best gain, where the cost changes by 2·slope·gain + curve·gain² once the other
// moves are refitted; norm·gain² is the second term when they are not. An atom that the other moves can imitate
// decreases the cost by nothing.
func (a *atom) candidate(index int, slope, curve, norm float64) candidate {
	const same = 1e-3
	if curve < same*norm {
		return candidate{}
	}
	gain := min(max(-slope/curve, a.low), a.high)
	return candidate{index, gain, -gain * (2*slope + gain*curve)}
}

// propose returns the n most promising atoms to add to moves, best first, no two of
// one kind within half an octave. Every move already there is expected to give way:
// what its derivatives can follow is projected out of the residual and of the atom.
func (m *model) propose(atoms []atom, moves []move, n int) []candidate {
	const near = math.Ln2 / 2
	m.linearise(moves)
	basis := m.basis(moves)
	residual := slices.Clone(m.residual)
	project(residual, basis)
	var used [len(shapes)]int
	for i := range moves {
		used[moves[i].shape]++
	}
	var offers []candidate
	rest := make([]float64, len(residual))
	for i := range atoms {
		a := &atoms[i]
		if used[a.shape] >= m.limits[a.shape].Count {
			continue
		}
		copy(rest, a.perDB)
		project(rest, basis)
		o := a.candidate(i, dot(rest, residual), dot(rest, rest), dot(a.perDB, a.perDB))
		if o.decrease > 0 {
			offers = append(offers, o)
		}
	}
	slices.SortStableFunc(offers, func(a, b candidate) int { return cmp.Compare(b.decrease, a.decrease) })
	var chosen []candidate
	for _, o := range offers {
		if len(chosen) == n {
			break
		}
		a := &atoms[o.index]
		if !slices.ContainsFunc(chosen, func(c candidate) bool {
			b := &atoms[c.index]
			distance := math.Abs(a.at[biquad.ByLnFreq] - b.at[biquad.ByLnFreq])
			return distance < near && kindOf(a.shape, o.gain) == kindOf(b.shape, c.gain)
		}) {
			chosen = append(chosen, o)
		}
	}
	return chosen
}

// basis returns orthonormal vectors that span the rows of the last jacobian whose
// parameters are not on a border.
func (m *model) basis(moves []move) [][]float64 {
	const dependent = 1e-6 // of the square that is left
	var basis [][]float64
	for i := range moves {
		b := &m.boxes[moves[i].shape]
		for j, x := range moves[i].at {
			if x <= b.low[j] || x >= b.high[j] {
				continue
			}
			v := slices.Clone(m.jacobian[3*i+j])
			before := dot(v, v)
			project(v, basis)
			after := dot(v, v)
			if after <= dependent*before {
				continue
			}
			scale := 1 / math.Sqrt(after)
			for k := range v {
				v[k] *= scale
			}
			basis = append(basis, v)
		}
	}
	return basis
}

// project takes the span of an orthonormal basis out of v.
func project(v []float64, basis [][]float64) {
	for _, e := range basis {
		d := dot(v, e)
		for i := range v {
			v[i] -= d * e[i]
		}
	}
}
