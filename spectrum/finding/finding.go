// Package finding defines a finding: something worth saying about a recording or a
// comparison, as a type with its figures. Each type is declared beside the code that finds it.
// Package match/words has the sentence for each, and nothing parses sentences.
package finding

import "slices"

// Finding is one thing worth saying, with its figures.
type Finding interface {
	Code() string       // identifies the kind in JSON; never changes
	Severity() Severity // how serious it is
}

// Severity is how serious a finding is. Larger is more serious and is listed first.
type Severity uint8

const (
	Info    Severity = iota // good to know
	Caution                 // the moves may mislead
	Warning                 // deal with it before dialling anything
)

// String returns the severity as it is written in JSON.
func (s Severity) String() string { return [...]string{"info", "caution", "warning"}[s] }

// List is a list of findings. With sorts it, the most severe first.
type List []Finding

// With returns the findings and more, sorted by severity; those of equal severity keep their
// order. It leaves the list itself unchanged.
func (all List) With(more ...Finding) List {
	joined := slices.Concat(all, more)
	slices.SortStableFunc(joined, func(a, b Finding) int { return int(b.Severity()) - int(a.Severity()) })
	return joined
}
