package words

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"toneplumb/biquad"
)

// FormatHz writes a frequency with three digits, as people dial it: "425 Hz", "3.15 kHz".
func FormatHz(hz float64) string {
	if hz < 999.5 {
		return fmt.Sprintf("%.3g Hz", hz)
	}
	return fmt.Sprintf("%.3g kHz", hz/1000)
}

// minus is the sign before a negative number for people: U+2212.
const minus = "−"

// IsZero reports whether a level in dB is printed as 0.0.
func IsZero(db float64) bool { return math.Abs(db) < 0.05 }

// FormatGain writes a gain in dB with sign and one decimal: "+1.2", "−0.5", "0.0".
func FormatGain(db float64) string {
	switch {
	case IsZero(db):
		return "0.0"
	case db < 0:
		return minus + fmt.Sprintf("%.1f", -db)
	}
	return fmt.Sprintf("+%.1f", db)
}

// Fixed writes a number with a fixed number of decimals and the given minus sign. A number
// that rounds to 0 has no sign; infinities are "Inf".
func Fixed(x float64, decimals int, minus string) string {
	text := strconv.FormatFloat(math.Abs(x), 'f', decimals, 64)
	switch {
	case math.IsInf(x, 0):
		text = "Inf"
	case text == strconv.FormatFloat(0, 'f', decimals, 64):
		return text
	}
	if x < 0 {
		return minus + text
	}
	return text
}

// FormatDifference writes a difference, reference less mix in dB, as where the mix is:
// "1.2 dB under", "0.4 dB over", "level".
func FormatDifference(db float64) string { return difference(db, " dB") }

// BareDifference is like [FormatDifference] without the unit, which a column has.
func BareDifference(db float64) string { return difference(db, "") }

func difference(db float64, unit string) string {
	switch {
	case IsZero(db):
		return "level"
	case db > 0:
		return fmt.Sprintf("%.1f%s under", db, unit)
	}
	return fmt.Sprintf("%.1f%s over", -db, unit)
}

// FormatInterval writes an interval of differences, reference less mix in dB: "0.8 under to 1.2
// over", "1.2 to 4.4 over", "1.2 over" if both ends read the same.
func FormatInterval(lowDB, highDB float64) string {
	side := func(db float64) string {
		if db > 0 {
			return "under"
		}
		return "over"
	}
	near, far := lowDB, highDB
	if math.Abs(near) > math.Abs(far) {
		near, far = far, near
	}
	switch least, most := fmt.Sprintf("%.1f", math.Abs(near)), fmt.Sprintf("%.1f", math.Abs(far)); {
	case most == "0.0":
		return "level"
	case side(near) == side(far) && least == most:
		return most + " " + side(far)
	}
	if side(near) == side(far) || math.Abs(near) < 0.05 {
		return fmt.Sprintf("%.1f to %.1f %s", math.Abs(near), math.Abs(far), side(far))
	}
	return fmt.Sprintf("%.1f %s to %.1f %s", math.Abs(highDB), side(highDB), math.Abs(lowDB), side(lowDB))
}

// List joins items: "a", "a and b", "a, b and c"; "" for none.
func List(items []string) string {
	if n := len(items); n > 1 {
		return strings.Join(items[:n-1], ", ") + " and " + items[n-1]
	}
	return strings.Join(items, "")
}

// Numbers joins numbers like [List]: "1, 3 and 4".
func Numbers(numbers []int) string {
	items := make([]string, len(numbers))
	for i, n := range numbers {
		items[i] = fmt.Sprint(n)
	}
	return List(items)
}

// Shape returns a shape as it is written in a sentence: "high shelf".
func Shape(s biquad.Shape) string {
	switch s {
	case biquad.LowShelf:
		return "low shelf"
	case biquad.HighShelf:
		return "high shelf"
	case biquad.LowCut:
		return "low cut"
	case biquad.HighCut:
		return "high cut"
	}
	return "bell"
}

// UpperFirst capitalises the first letter of a text, which must be ASCII.
func UpperFirst(text string) string { return strings.ToUpper(text[:1]) + text[1:] }

// Plural returns one if n is 1, else more.
func Plural(n int, one, more string) string {
	if n == 1 {
		return one
	}
	return more
}

// Count writes a number of things: "1 recording", "3 recordings".
func Count(n int, thing string) string {
	return fmt.Sprintf("%d %s", n, Plural(n, thing, thing+"s"))
}
