package plots

import (
	"cmp"
	"slices"
	"strings"

	"toneplumb/plots/vector"

	"gonum.org/v1/plot/vg"
)

// key is the list of reasons that do not fit inside their spans. Each is represented there
// by a letter and written in full below the frequency axis.
type key []string

// maxKey is the number of letters available.
const maxKey = 'z' - 'a' + 1

// letter returns the letter of a reason, "" if it is not in the key.
func (k key) letter(why string) string {
	if i := slices.Index(k, why); i >= 0 {
		return string(rune('a' + i))
	}
	return ""
}

func (k key) String() string {
	var out []string
	for _, why := range k {
		out = append(out, k.letter(why)+" – "+why)
	}
	return strings.Join(out, "; ")
}

// keyLines returns the lines of the key below the axis.
func (s *sheet) keyLines(k key, width vg.Length) []string {
	if len(k) == 0 {
		return nil
	}
	return s.lines(s.soft(noteSize), "hatched: "+k.String(), width, 3, vector.CutEnd)
}

// crowdedOut returns k extended by the reasons that have no clear place in the panels, in
// order of frequency.
func (k key) crowdedOut(diagrams []*diagram) key {
	var all []Span
	for _, d := range diagrams {
		all = append(all, d.panel.LeftOut...)
	}
	var out key
	slices.SortStableFunc(all, func(a, b Span) int { return cmp.Compare(a.FromHz, b.FromHz) })
	crowded := func(sp Span) bool {
		return slices.ContainsFunc(diagrams, func(d *diagram) bool {
			if !slices.Contains(d.panel.LeftOut, sp) {
				return false
			}
			r, any := d.reasonIn(sp)
			return any && !r.clear
		})
	}
	for _, sp := range all {
		if slices.Contains(out, sp.Why) || len(out) == maxKey {
			continue
		}
		if slices.Contains(k, sp.Why) || crowded(sp) {
			out = append(out, sp.Why)
		}
	}
	return out
}
