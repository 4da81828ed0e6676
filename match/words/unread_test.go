package words

import (
	"fmt"
	"go/ast"
	"path/filepath"
	"slices"
	"testing"
)

// readers are the functions of package strings that ask what a text says, or change it by
// what it says.
var readers = []string{
	"Contains", "ContainsAny", "ContainsRune", "ContainsFunc", "Count", "Cut", "CutPrefix", "CutSuffix", "EqualFold",
	"Fields", "FieldsFunc", "HasPrefix", "HasSuffix", "Index", "IndexAny", "IndexByte", "IndexFunc", "IndexRune", "LastIndex", "LastIndexAny", "LastIndexByte",
	"NewReplacer", "Replace", "ReplaceAll", "Split", "SplitAfter", "SplitN", "TrimPrefix", "TrimSuffix",
}

// mayRead are the functions that read text which is no finding, and why.
var mayRead = map[string]string{
	"match/report/handout.go":              "keepUnits: sets figures and their units on one line, whatever the text",
	"match/report/textreport.go Paragraph": "breaks lines at blanks, whatever the text",
	"match/class/csv.go withPoint":         "a number's decimal sign",
	"match/class/csv.go asText":            "cells that a spreadsheet would run",
	"match/zones.go Column":                "a zone's name in a column's",
	"match/tracks/odd.go NameOf":           "a file's name",
	"match/report/blocks.go rowAloud":      "heads of columns, with their units",
	"match/report/check.go checkedFacts":   "a column's head, made shorter",
	"match/report/markdown.go":             "marks: escapes what Markdown would take for its own",
	"match/class/names.go safe":            "names of files",
	"match/report/notes.go namesOf":        "codes of findings",
	"match/report/names.go Argument":       "a path, as a shell reads it",
}

// TestNothingReadsSentences: what findings say is decided by their types; no function of
// these packages asks a text, but for those above; match/document reads files and nothing else. Regular expressions count too.
func TestNothingReadsSentences(t *testing.T) {
	used := map[string]bool{}
	for _, dir := range []string{"match", "match/uncertainty", "match/listen", "match/words", "match/report", "match/class", "match/job", "match/tracks", "match/tracks/forms"} {
		for path, file := range sources(t, filepath.Join("..", "..", dir)) {
			name := dir + "/" + filepath.Base(path)
			for _, d := range file.Decls {
				in := name // a variable's, unless it is a function
				if f, is := d.(*ast.FuncDecl); is {
					in += " " + f.Name.Name
				}
				for _, what := range reads(d) {
					if mayRead[in] == "" {
						t.Errorf("%s calls %s: let it ask the finding's type", in, what)
					}
					used[in] = true
				}
			}
		}
	}
	for in := range mayRead {
		if !used[in] {
			t.Errorf("%s reads nothing and need not be excused", in)
		}
	}
}

// reads returns what a declaration calls that asks texts.
func reads(d ast.Decl) []string {
	var all []string
	ast.Inspect(d, func(n ast.Node) bool {
		if s, is := n.(*ast.SelectorExpr); is {
			switch p, is := s.X.(*ast.Ident); {
			case !is:
			case p.Name == "strings" && slices.Contains(readers, s.Sel.Name), p.Name == "regexp":
				all = append(all, fmt.Sprintf("%s.%s", p.Name, s.Sel.Name))
			}
		}
		return true
	})
	return all
}
