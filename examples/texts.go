// Package examples has the texts beside the examples, for those who have only the program.
package examples

import _ "embed"

// Equalisers says how an equaliser is described and learnt, Lessons how a class works with it.
var (
	//go:embed equalisers/README.md
	Equalisers string
	//go:embed lessons/README.md
	Lessons string
)
