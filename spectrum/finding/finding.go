// Package finding says what a finding is: something worth saying about a recording or a
// comparison, as a kind with its figures. Each kind stands beside the code that finds it;
// match/words has the sentence for each, and nothing reads sentences back.
package finding

import "slices"

// Finding is something worth saying: what kind of thing, with its figures.
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

// List is findings, listed by severity; those of one severity stay in their order.
type List []Finding

// With returns the findings with more of them. The list itself is left as it is.
func (all List) With(more ...Finding) List {
	joined := slices.Concat(all, more)
	slices.SortStableFunc(joined, func(a, b Finding) int { return int(b.Severity()) - int(a.Severity()) })
	return joined
}
