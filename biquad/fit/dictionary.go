package fit

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"toneplumb/biquad"
)

// atom is a move that can be added, with its effect on the residual per dB of gain.
type atom struct {
	move
	half      uint16    // half octaves above the lowest frequency
	perDB     []float64 // at judged bands, scaled like model.residual
	low, high float64   // least and greatest gain in dB
}

// The grid of moves that are tried. Our choice: bells a third of an octave apart in three
// widths, shelves half an octave apart in two; finer grids found no better solutions.
const (
	bellStep, bellWidths   = math.Ln2 / 3, 3
	shelfStep, shelfWidths = math.Ln2 / 2, 2
)

// dictionary returns one atom for each place on the grid, inside the equaliser's ranges.
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

// perDB returns the effect of mv at a gain of gainDB, divided by that gain, or nil if it
// is negligible.
func (m *model) perDB(mv move, gainDB float64) []float64 {
	const negligible = 1e-6 // dB rms per dB
	if gainDB == 0 {
		return nil
	}
	mv.at[biquad.ByGainDB] = gainDB
	m.cost([]move{mv})
	column := make([]float64, len(m.residual))
	for i, r := range m.residual {
		column[i] = (r + m.target[i]) / gainDB
	}
	if floats.Dot(column, column) < negligible*negligible {
		return nil
	}
	return column
}

// kindOf returns one of four kinds of move: bells up and down, shelves that tilt the
// curve up and down. A low shelf and a high shelf of opposite gain are the same kind:
// they differ by a constant, and the offset is free.
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

// cell returns a number that atoms of the same kind in the same half octave share.
func (a *atom) cell(gain float64) uint16 { return a.half<<2 | kindOf(a.shape, gain) }

// candidate is an atom with the gain to start it at and the decrease of the cost that
// the linear model predicts.
type candidate struct {
	index          int // of the atom
	gain, decrease float64
}

// candidate returns the atom with its best gain. With the other moves refitted, the cost
// changes by 2·slope·gain + curve·gain²; with them unchanged, the second term would be
// norm·gain². An atom that the other moves can imitate does not decrease the cost.
func (a *atom) candidate(index int, slope, curve, norm float64) candidate {
	const imitated = 1e-3
	if curve < imitated*norm {
		return candidate{}
	}
	gain := min(max(-slope/curve, a.low), a.high)
	return candidate{index, gain, -gain * (2*slope + gain*curve)}
}

// propose returns the n most promising atoms to add to moves, best first, no two of
// the same kind within half an octave. The moves already there are expected to be
// refitted, so whatever their derivatives span is projected out of the residual and out
// of each atom.
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
		o := a.candidate(i, floats.Dot(rest, residual), floats.Dot(rest, rest), floats.Dot(a.perDB, a.perDB))
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
	const dependent = 1e-6 // share of its squared length at which a row counts as dependent on the others
	var basis [][]float64
	for i := range moves {
		b := &m.boxes[moves[i].shape]
		for j, x := range moves[i].at {
			if x <= b.low[j] || x >= b.high[j] {
				continue
			}
			v := slices.Clone(m.jacobian[3*i+j])
			before := floats.Dot(v, v)
			project(v, basis)
			after := floats.Dot(v, v)
			if after <= dependent*before {
				continue
			}
			floats.Scale(1/math.Sqrt(after), v)
			basis = append(basis, v)
		}
	}
	return basis
}

// project removes from v its projection on the span of an orthonormal basis.
func project(v []float64, basis [][]float64) {
	for _, e := range basis {
		floats.AddScaled(v, -floats.Dot(v, e), e)
	}
}
