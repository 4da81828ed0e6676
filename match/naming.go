package match

import (
	"fmt"

	"toneplumb/spectrum/measure"
)

// Naming decides what files are called in all output: their base name, with a number if two are
// alike, or with Plain their role ("mix", "reference 2"). All output uses these names, so none
// has to be removed from finished text. The zero value is ready to use; use one Naming for the
// files of one comparison.
type Naming struct {
	Plain bool // use roles instead of file names
	taken map[string]bool
}

// Name returns file, numbered if it is taken, or the role plain if n.Plain.
func (n *Naming) Name(file, plain string) string {
	if n.Plain {
		return plain
	}
	if n.taken == nil {
		n.taken = map[string]bool{}
	}
	name := file
	for i := 2; n.taken[name]; i++ {
		name = fmt.Sprintf("%s (%d)", file, i)
	}
	n.taken[name] = true
	return name
}

// Mix returns a copy of the mix under its name.
func (n *Naming) Mix(mix *measure.Recording) *measure.Recording { return n.named(mix, "mix") }

// Before returns a copy of an earlier mix under its name.
func (n *Naming) Before(mix *measure.Recording) *measure.Recording {
	return n.named(mix, "the earlier mix")
}

// References returns copies of the references under their names.
func (n *Naming) References(all []*measure.Recording) []*measure.Recording {
	var named []*measure.Recording
	for i, r := range all {
		named = append(named, n.named(r, ReferenceLabel(i, len(all))))
	}
	return named
}

// named returns a copy, since recordings are shared and must not change.
func (n *Naming) named(r *measure.Recording, plain string) *measure.Recording {
	c := *r
	c.Name = n.Name(r.Name, plain)
	return &c
}
