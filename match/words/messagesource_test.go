package words_test

import (
	"cmp"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/finding"
)

// source is the code of the module without its tests, as far as messages are made there.
type source struct {
	packages   map[string][]*ast.File // by folder
	consts     map[string]ast.Expr    // of any package, by name
	errorKinds map[string]string      // of errors, by the name of the constant
}

func readSource(t *testing.T, root string) *source {
	t.Helper()
	s := &source{map[string][]*ast.File{}, map[string]ast.Expr{}, map[string]string{}}
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || filepath.Ext(path) != ".go" || strings.HasSuffix(path, "_test.go") || strings.Contains(path, "testdata") {
			return err
		}
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ParseComments)
		if err == nil {
			dir := filepath.ToSlash(filepath.Dir(path))
			s.packages[dir] = append(s.packages[dir], f)
			s.addConsts(f)
		}
		return err
	})
	if err != nil || len(s.packages) < 10 {
		t.Fatalf("%d packages, %v", len(s.packages), err)
	}
	kinds := source{consts: map[string]ast.Expr{}}
	for _, f := range s.packages[filepath.ToSlash(filepath.Join(root, "spectrum/finding"))] {
		kinds.addConsts(f)
	}
	for name, value := range kinds.consts {
		if text := (scope{source: s}).text(value); text != gap { // not a severity
			s.errorKinds[name] = text
		}
	}
	return s
}

func (s *source) addConsts(f *ast.File) {
	for _, d := range f.Decls {
		if g, is := d.(*ast.GenDecl); is && g.Tok == token.CONST {
			addValues(s.consts, g)
		}
	}
}

func addValues(to map[string]ast.Expr, g *ast.GenDecl) {
	for _, spec := range g.Specs {
		if v, is := spec.(*ast.ValueSpec); is && len(v.Values) == len(v.Names) {
			for i, name := range v.Names {
				to[name.Name] = v.Values[i]
			}
		}
	}
}

// scope is where names are looked up.
type scope struct {
	*source
	dir   string              // of the package
	local map[string]ast.Expr // of one function
}

// gap stands in a text where the program fills something in.
const gap = "…"

var verb = regexp.MustCompile(`%[-+# 0]*[0-9]*(\.[0-9]+)?[a-zA-Z]`)

// text returns what an expression says, as far as it is in the source.
func (s scope) text(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.BasicLit:
		if text, err := strconv.Unquote(e.Value); err == nil && e.Kind == token.STRING {
			return text
		}
	case *ast.BinaryExpr:
		return s.text(e.X) + s.text(e.Y)
	case *ast.Ident:
		value, is := s.local[e.Name]
		if !is {
			value = s.consts[e.Name]
		}
		if value != nil {
			return scope{s.source, s.dir, nil}.text(value)
		}
	case *ast.SelectorExpr:
		if value := s.consts[e.Sel.Name]; value != nil {
			return s.text(value)
		}
	case *ast.CallExpr:
		if name := called(e); name == "Sprintf" || name == "Errorf" {
			return filled(s.text(e.Args[0]))
		}
	}
	return gap
}

// filled is a format with its verbs as gaps.
func filled(format string) string {
	format = strings.ReplaceAll(format, "%q", `"`+gap+`"`)
	return strings.ReplaceAll(verb.ReplaceAllString(format, gap), "%%", "%")
}

// called is the name of the function that is called, without its package.
func called(c *ast.CallExpr) string {
	switch f := c.Fun.(type) {
	case *ast.Ident:
		return f.Name
	case *ast.SelectorExpr:
		return f.Sel.Name
	}
	return ""
}

// declarations calls see for each declaration with the scope of its constants, in the order
// of the packages.
func (s *source) declarations(see func(d ast.Decl, in scope)) {
	for _, dir := range slices.Sorted(maps.Keys(s.packages)) {
		for _, file := range s.packages[dir] {
			for _, d := range file.Decls {
				in := scope{s, dir, map[string]ast.Expr{}}
				ast.Inspect(d, func(n ast.Node) bool {
					switch n := n.(type) {
					case *ast.GenDecl:
						addValues(in.local, n)
					case *ast.AssignStmt:
						name, is := n.Lhs[0].(*ast.Ident)
						if lit, empty := n.Rhs[0].(*ast.BasicLit); empty && lit.Value == `""` { // filled later
							break
						}
						if is && len(n.Lhs) == len(n.Rhs) && n.Tok == token.DEFINE {
							in.local[name.Name] = n.Rhs[0]
						}
					}
					return true
				})
				see(d, in)
			}
		}
	}
}

// failure is an error as people see it.
type failure struct{ kind, text, hint string }

// failures are the errors about a file, after whose name the text stands, and the others;
// of each the part that is in the source.
func (s *source) failures() (ofFiles, others []failure) {
	s.declarations(func(d ast.Decl, in scope) {
		ast.Inspect(d, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.CallExpr:
				of := func(kind, text, hint int) failure {
					return failure{in.kind(n.Args[kind]), filled(in.text(n.Args[text])), in.text(n.Args[hint])}
				}
				switch name := called(n); {
				case name == "NewError":
					ofFiles = append(ofFiles, of(0, 1, 2))
				case name == "Damaged":
					ofFiles = append(ofFiles, failure{string(finding.Damaged), in.text(n.Args[0]), codec.HintDamaged})
				case name == "refuse":
					ofFiles = append(ofFiles, of(1, 3, 2))
				case name == "refusalOf":
					ofFiles = append(ofFiles, of(0, 3, 4))
				case name == "refusal": // of a web page
					others = append(others, of(0, 2, 3))
				case name == "refuseTo":
					others = append(others, of(2, 4, 5))
				case name == "withID" && strings.HasSuffix(in.dir, "/serve"):
					others = append(others, failure{string(finding.PageOutOfDate), in.text(n.Args[1]), in.text(n.Args[2])})
				case (name == "fail" || name == "Fail") && len(n.Args) > 2:
					others = append(others, of(0, 2, 1))
				}
			case *ast.CompositeLit:
				of, other := in.literals(n)
				ofFiles, others = append(ofFiles, of...), append(others, other...)
			}
			return true
		})
	})
	return tidy(ofFiles), tidy(others)
}

// literals are the errors in a literal: one with Problem, What, Hint and Kind, or a table of what are no recordings, with
// columns of these names.
func (s scope) literals(lit *ast.CompositeLit) (ofFiles, others []failure) {
	var one failure
	ofFile := false
	for _, e := range lit.Elts {
		pair, is := e.(*ast.KeyValueExpr)
		if !is {
			return s.rows(lit), nil
		}
		key, _ := pair.Key.(*ast.Ident)
		switch {
		case key == nil:
		case key.Name == "Problem":
			one.text, ofFile = s.text(pair.Value), true
		case key.Name == "What" && one.text == "":
			one.text = s.text(pair.Value)
		case key.Name == "Hint":
			one.hint = s.text(pair.Value)
		case key.Name == "Kind":
			one.kind = s.kind(pair.Value)
		}
	}
	switch {
	case one.text == "" || one.hint == "":
		return nil, nil
	case ofFile:
		return []failure{one}, nil
	}
	return nil, []failure{one}
}

func (s scope) rows(table *ast.CompositeLit) (all []failure) {
	array, is := table.Type.(*ast.ArrayType)
	if !is {
		return nil
	}
	row, is := array.Elt.(*ast.StructType)
	if !is {
		return nil
	}
	column := map[string]int{}
	n := 0
	for _, field := range row.Fields.List {
		for _, name := range field.Names {
			column[name.Name] = n
			n++
		}
	}
	problem, has := column["problem"]
	hint, hints := column["hint"]
	if !has || !hints {
		return nil
	}
	for _, e := range table.Elts {
		cells := e.(*ast.CompositeLit).Elts
		all = append(all, failure{string(finding.NotARecording), s.text(cells[problem]), s.text(cells[hint])})
	}
	return all
}

// tidy sorts failures, each once, and leaves out those whose words come from elsewhere.
func tidy(all []failure) []failure {
	words := regexp.MustCompile(`[a-z]{3}`)
	all = slices.DeleteFunc(all, func(f failure) bool { return !words.MatchString(f.text) })
	slices.SortFunc(all, func(a, b failure) int {
		return cmp.Or(cmp.Compare(strings.Trim(a.text, `"`+gap), strings.Trim(b.text, `"`+gap)), cmp.Compare(a.hint, b.hint))
	})
	return slices.Compact(all)
}
