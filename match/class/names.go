package class

import (
	"cmp"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

func itoa(n int) string { return strconv.Itoa(n) }

// Natural compares names as people order them: numbers by their value, letters without
// regard to case, and what is then alike by its bytes.
func Natural(a, b string) int {
	x, y := strings.ToLower(a), strings.ToLower(b)
	for x != "" && y != "" {
		m, n := digits(x), digits(y)
		if m > 0 && n > 0 {
			p, q := strings.TrimLeft(x[:m], "0"), strings.TrimLeft(y[:n], "0")
			if c := cmp.Or(cmp.Compare(len(p), len(q)), cmp.Compare(p, q)); c != 0 {
				return c
			}
			x, y = x[m:], y[n:]
			continue
		}
		r, m := utf8.DecodeRuneInString(x)
		s, n := utf8.DecodeRuneInString(y)
		if r != s {
			return cmp.Compare(r, s)
		}
		x, y = x[m:], y[n:]
	}
	return cmp.Or(cmp.Compare(len(x), len(y)), cmp.Compare(a, b))
}

// digits is how many digits text begins with.
func digits(text string) int {
	n := 0
	for n < len(text) && text[n] >= '0' && text[n] <= '9' {
		n++
	}
	return n
}

// PageNames returns a name of a file for each name of a mix, which any system takes and
// which no two share, not even where a system tells no capitals from small letters. ext
// begins with a dot.
func PageNames(mixes []string, ext string) []string {
	used := map[string]bool{}
	var names []string
	for _, mix := range mixes {
		stem := safe(mix)
		name := stem + ext
		for n := 2; used[strings.ToLower(name)]; n++ {
			name = stem + "-" + itoa(n) + ext
		}
		used[strings.ToLower(name)] = true
		names = append(names, name)
	}
	return names
}

// mostBytes bounds a name; systems take 255. Our choice.
const mostBytes = 100

// safe keeps letters, digits and a few signs of a name without its extension.
func safe(mix string) string {
	if i := strings.LastIndexByte(mix, '.'); i > 0 {
		mix = mix[:i]
	}
	var b strings.Builder
	for _, c := range mix {
		switch {
		case c == utf8.RuneError:
			c = '-'
		case unicode.In(c, unicode.L, unicode.M, unicode.Nd), strings.ContainsRune("-_()+ .,", c):
		default:
			c = '-'
		}
		if b.Len()+utf8.RuneLen(c) > mostBytes {
			break
		}
		b.WriteRune(c)
	}
	name := strings.Trim(b.String(), " .-")
	// Names of devices on Windows, whatever follows a dot (from memory).
	first, _, _ := strings.Cut(strings.ToLower(name), ".")
	switch strings.TrimRight(first, " 0123456789") {
	case "con", "prn", "aux", "nul", "com", "lpt":
		name = "mix " + name
	case "":
		name = strings.TrimSpace("mix " + name)
	}
	return name
}
