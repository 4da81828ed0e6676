// Package words writes in English what packages match, listen, tracks and probe find: findings,
// reasons, plans, names of shapes and recordings, lists, and numbers with their units. Every sentence
// about a finding is here, and nothing parses one: sort, filter and replace by the types of findings
// instead. Decimals use a point and negative numbers U+2212.
//
// It builds on these; what shows a result uses it.
package words

import _ "embed"

// Messages is the page of all warnings and errors. TestMessages writes the file.
//
//go:embed messages.md
var Messages string
