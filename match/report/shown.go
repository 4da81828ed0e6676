package report

import (
	"strings"

	"toneplumb/match"
)

// Findings are the sentences that stand under the moves: the distance, how sure it is,
// what was confirmed, what was judged and left out, and copies.
func Findings(r *match.Result) []string {
	var all []string
	for _, s := range []string{distance(r), sure(r), confirmed(r), lead(r), judged(r), leftOut(r), copies(r)} {
		if s != "" {
			all = append(all, s)
		}
	}
	return all
}

// Interval is between which gains a move lies, as "+0.4 to +3.6", "" where that is not
// known.
func Interval(m match.Move) string { return strings.Join(strings.Fields(interval(m)), " ") }
