package class

import (
	"path/filepath"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

func stem(path string) string {
	name := filepath.Base(path)
	return name[:len(name)-len(filepath.Ext(name))]
}

// PageNames returns a file name for each mix that every system accepts. No two are the same,
// even on systems that ignore case. ext begins with a dot.
func PageNames(mixes []string, ext string) []string {
	used := map[string]bool{}
	var names []string
	for _, mix := range mixes {
		stem := safe(mix)
		name := stem + ext
		for n := 2; used[strings.ToLower(name)]; n++ {
			name = stem + "-" + strconv.Itoa(n) + ext
		}
		used[strings.ToLower(name)] = true
		names = append(names, name)
	}
	return names
}

// mostBytes is the longest name before ext; systems accept 255. Our choice.
const mostBytes = 100

// safe drops the extension and replaces all but letters, digits and a few signs by "-".
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
	// Names of devices on Windows, with any extension (from memory).
	first, _, _ := strings.Cut(strings.ToLower(name), ".")
	switch strings.TrimRight(first, " 0123456789") {
	case "con", "prn", "aux", "nul", "com", "lpt":
		name = "mix " + name
	case "":
		name = strings.TrimSpace("mix " + name)
	}
	return name
}
