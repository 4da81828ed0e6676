package vector

import (
	"strings"
	"unicode"
)

// Cut says where text that is too long is shortened.
type Cut uint8

const (
	CutEnd    Cut = iota
	CutMiddle     // keeps the ends of file names
)

// Ellipsis replaces letters that were cut out.
const Ellipsis = "…"

// Fit breaks printable text into at most maxLines lines no wider than width ems. If it has to
// cut out letters, it puts an [Ellipsis] in their place. Empty text gives no line.
func (l *Letters) Fit(txt string, width float64, maxLines int, where Cut) []string {
	runes := []rune(txt)
	lines := l.wrap(runes, width)
	if len(lines) <= maxLines {
		return lines
	}
	shortened := func(keep int) []string {
		head := keep
		if where == CutMiddle {
			head = (keep*3 + 4) / 5 // our choice: three fifths before the Ellipsis
		}
		tail := len(runes) - (keep - head)
		short := append([]rune(nil), runes[:glued(runes, head)]...)
		for len(short) > 0 && short[len(short)-1] == ' ' {
			short = short[:len(short)-1]
		}
		short = append(short, []rune(Ellipsis)...)
		return l.wrap(append(short, runes[tail:]...), width)
	}
	// The largest number of letters that fits; with 0, only the Ellipsis is left.
	low, high := 0, len(runes)
	for low+1 < high {
		mid := (low + high) / 2
		if len(shortened(mid)) <= maxLines {
			low = mid
		} else {
			high = mid
		}
	}
	return shortened(low)
}

// wrap breaks runes into lines no wider than width ems, at blanks if possible, and inside a
// word only if the word is wider than a whole line: after a dash or a low line in the second half of
// the line, as file names have them, if there is one.
func (l *Letters) wrap(runes []rune, width float64) []string {
	var lines []string
	start := 0
	for start < len(runes) {
		end, next := l.lineEnd(runes, start, width)
		lines = append(lines, string(runes[start:end]))
		start = next
	}
	return lines
}

// lineEnd returns the end of the line that starts at start, and the start of the next
// line.
func (l *Letters) lineEnd(runes []rune, start int, width float64) (end, next int) {
	w, blank := 0.0, -1
	for i := start; i < len(runes); i++ {
		if i > start {
			w += l.kern(runes[i-1], runes[i])
		}
		w += l.glyph(runes[i]).advance
		if runes[i] == ' ' {
			blank = i
			continue
		}
		if w <= width || i == start {
			continue
		}
		if blank > start {
			if word, _, _ := strings.Cut(string(runes[blank+1:]), " "); l.Width(word) <= width {
				return blank, blank + 1
			}
		}
		if end = glued(runes, i); end <= start {
			end = i
		}
		for at := end; at > (start+end+1)/2; at-- {
			if runes[at-1] == '-' || runes[at-1] == '_' {
				return at, at
			}
		}
		return end, end
	}
	return len(runes), len(runes)
}

// glued moves a break before rune i back until it separates no accent from its letter.
func glued(runes []rune, i int) int {
	for i > 0 && i < len(runes) && unicode.Is(unicode.Mn, runes[i]) {
		i--
	}
	return i
}
