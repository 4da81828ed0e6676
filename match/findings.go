package match

import "slices"

// Finding is something worth saying about a comparison: what kind of thing, with its
// figures. Package words has the sentence for each; nothing else has, and nothing reads
// sentences back. Each kind stands beside the code that finds it.
type Finding interface {
	Code() string // names its kind in JSON; never changes
	Severity() Severity
}

// Severity is how much a finding weighs: findings are listed by it, the heaviest first.
type Severity uint8

const (
	Info    Severity = iota // good to know
	Caution                 // the moves may mislead there
	Warning                 // to be dealt with before anything is dialled
)

// String is the severity in JSON.
func (s Severity) String() string { return [...]string{"info", "caution", "warning"}[s] }

// Findings are listed by severity; those of one severity stay in their order.
type Findings []Finding

// With returns the findings with more of them. The list itself is left as it is.
func (all Findings) With(more ...Finding) Findings {
	joined := slices.Concat(all, more)
	slices.SortStableFunc(joined, func(a, b Finding) int { return int(b.Severity()) - int(a.Severity()) })
	return joined
}

// Side is one of the recordings of a comparison.
type Side struct {
	Number int // of a reference, from 1; 0 is the mix
	Of     int // how many references there are
}

// IsMix reports whether the side is the mix.
func (s Side) IsMix() bool { return s.Number == 0 }

// Figure is a figure of one side.
type Figure struct {
	Side  Side
	Value float64
}

// figures returns a figure of each side that has one, the mix first; of counts sides from 0.
func (c *Comparison) figures(of func(i int) (value float64, has bool)) []Figure {
	var all []Figure
	for i := range len(c.References) + 1 {
		if v, has := of(i); has {
			all = append(all, Figure{Side{i, len(c.References)}, v})
		}
	}
	return all
}
