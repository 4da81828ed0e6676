package words

import (
	"fmt"

	"toneplumb/match"
)

// mostNamed is how many sides are named in a sentence about several. Our choice: as many as
// anybody looks up one by one.
const mostNamed = 5

// Side names a recording: "the mix", "the reference", "reference 2".
func Side(s match.Side) string {
	switch {
	case s.IsMix():
		return "the mix"
	case s.Of == 1:
		return "the reference"
	}
	return fmt.Sprintf("reference %d", s.Number)
}

// Sides names several recordings: "the mix and both references", "references 1 and 3", "6 of 9
// references". The mix must come first.
func Sides(sides []match.Side) string {
	var numbers []int
	var who []string
	of := 0
	for _, s := range sides {
		if s.IsMix() {
			who = append(who, Side(s))
		} else {
			numbers, of = append(numbers, s.Number), s.Of
		}
	}
	switch n := len(numbers); {
	case n == 0:
	case n == 1:
		who = append(who, Side(match.Side{Number: numbers[0], Of: of}))
	case n == of && n == 2:
		who = append(who, "both references")
	case n == of:
		who = append(who, fmt.Sprintf("all %d references", n))
	case n > mostNamed:
		who = append(who, fmt.Sprintf("%d of %d references", n, of))
	default:
		who = append(who, "references "+Numbers(numbers))
	}
	return List(who)
}

// References returns "the reference" for 1, "the references" for more.
func References(n int) string {
	return Plural(n, "the reference", "the references")
}

func sidesOf(figures []match.Figure) []match.Side {
	var sides []match.Side
	for _, f := range figures {
		sides = append(sides, f.Side)
	}
	return sides
}

// span returns the smallest and the largest of the figures, formatted.
func span(figures []match.Figure, format func(x float64) string) (least, most string) {
	low, high := figures[0].Value, figures[0].Value
	for _, f := range figures {
		low, high = min(low, f.Value), max(high, f.Value)
	}
	return format(low), format(high)
}

// named returns "one.wav" or "3 of 12 references", followed by the verb form that fits.
func named(n match.Named, one, more string) string {
	switch {
	case len(n.Names) == 1:
		return n.Names[0] + " " + one
	case len(n.Names) <= mostNamed:
		return List(n.Names) + " " + more
	}
	return fmt.Sprintf("%d of %d references %s", len(n.Names), n.Of, more)
}
