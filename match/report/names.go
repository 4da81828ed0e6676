package report

import (
	"cmp"
	"errors"
	"path/filepath"
	"slices"
	"strings"
	"unicode"

	"github.com/mattn/go-runewidth"
	"golang.org/x/text/collate"
	"golang.org/x/text/language"

	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// Name returns a file's name without its folder, safe to print.
func Name(path string) string { return measure.NameOf(path) }

// Printable returns a path, safe to print.
func Printable(path string) string { return measure.Printable(path) }

// Argument returns a path as it is typed in a command, safe to print: in quotes if it has
// anything that a shell would not take as it is. Double quotes do for blanks in the shells of
// every system; what those read inside them goes into single ones.
func Argument(path string) string {
	path = Printable(path)
	const plain = "._-/:+,=@%" // beside letters and digits
	special := func(c rune) bool {
		return !unicode.IsLetter(c) && !unicode.IsDigit(c) && !unicode.IsMark(c) && c != filepath.Separator && !strings.ContainsRune(plain, c)
	}
	switch {
	case path != "" && !strings.ContainsFunc(path, special):
		return path
	case strings.ContainsAny(path, "\"$`!"):
		return "'" + strings.ReplaceAll(path, "'", `'\''`) + "'"
	}
	return `"` + path + `"`
}

// NameBeside returns a recording's name to print beside its role who; "" if both are the same,
// which means that names are left out.
func NameBeside(who string, r *measure.Recording) string {
	if r.Name == who {
		return ""
	}
	return r.Name
}

// Problem returns what is wrong with a file, without its path.
func Problem(err error) string {
	var a *audio.Error
	if errors.As(err, &a) {
		return Printable(a.Problem)
	}
	return "cannot be read" // other errors may contain the path
}

// terminal knows how many cells of a terminal text takes: none for what combines with a letter,
// two for East Asian letters and pictures.
var terminal = &runewidth.Condition{}

// Cells returns how many cells of a terminal text takes.
func Cells(text string) int { return terminal.StringWidth(text) }

// Shorten replaces the middle of text by … if it is wider than n cells of a terminal.
func Shorten(text string, n int) string {
	if Cells(text) <= n {
		return text
	}
	head := terminal.Truncate(text, (n-1)/2, "")
	return head + terminal.TruncatePrefix(text, n-Cells(head), "…")
}

// Pad fills text with blanks to n cells.
func Pad(text string, n int) string { return terminal.FillRight(text, n) }

// ByName returns files in the order of their names, and files of the same name in that of their folders.
func ByName(paths []string) []string {
	paths, names := slices.Clone(paths), asPeopleOrder()
	slices.SortStableFunc(paths, func(a, b string) int {
		return cmp.Or(names(filepath.Base(a), filepath.Base(b)), names(a, b))
	})
	return paths
}

// asPeopleOrder returns a function that compares names as people order them. Numbers go by their
// value, letters by the root collation of Unicode's CLDR: an accented letter after the plain
// one, a capital after both. Names that are equal then are compared by bytes. The function is for
// one goroutine.
func asPeopleOrder() func(a, b string) int {
	c := collate.New(language.Und, collate.Numeric)
	return func(a, b string) int { return cmp.Or(c.CompareString(a, b), cmp.Compare(a, b)) }
}
