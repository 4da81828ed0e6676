package match

import (
	"fmt"

	"toneplumb/spectrum/measure"
)

// Naming says what files are called in anything that is written: by their names without
// the folder, with a number where two are alike, or, Plain, by what they are alone. All that
// writes reads these names, so that none has to be taken out of finished text. The zero
// value is ready; one serves the files of one comparison.
type Naming struct {
	Plain bool // without the files' names
	taken map[string]bool
}

// Name returns what a file is called: plain where names stay out.
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

// Mix returns the mix under its name.
func (n *Naming) Mix(mix *measure.Recording) *measure.Recording { return n.named(mix, "mix") }

// Before returns an earlier mix under its name.
func (n *Naming) Before(mix *measure.Recording) *measure.Recording {
	return n.named(mix, "the earlier mix")
}

// References returns the references under their names.
func (n *Naming) References(all []*measure.Recording) []*measure.Recording {
	var named []*measure.Recording
	for i, r := range all {
		named = append(named, n.named(r, ReferenceLabel(i, len(all))))
	}
	return named
}

// named returns a copy, since tables are shared and never changed.
func (n *Naming) named(r *measure.Recording, plain string) *measure.Recording {
	c := *r
	c.Name = n.Name(r.Name, plain)
	return &c
}
