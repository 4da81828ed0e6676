package cli

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"toneplumb/spectrum/testkit"
)

// licences.txt holds the text of every licence of what is linked into the program on any of
// the systems that .ci/cross builds for. With -update it is written anew.
func TestLicences(t *testing.T) {
	want := licencesText(t)
	if *testkit.Update {
		if err := os.WriteFile("licences.txt", []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if licences != want {
		t.Error("licences.txt is not what is linked in: go test ./match/cli -run TestLicences -update")
	}
}

// licenceFile are the names under which modules keep what must go with a program.
var licenceFile = regexp.MustCompile(`(?i)^(licen[cs]e|copying|notice|unlicense|patents|authors|ofl|ftl)s?([-_.].*)?$`)

// licencesText puts every text once, under what it belongs to.
func licencesText(t *testing.T) string {
	names := map[string][]string{} // of modules, by the text
	var texts []string
	add := func(name, text string) {
		text = strings.TrimSpace(strings.ReplaceAll(text, "\r\n", "\n"))
		if names[text] == nil {
			texts = append(texts, text)
		}
		if !slices.Contains(names[text], name) {
			names[text] = append(names[text], name)
		}
	}
	command, err := exec.LookPath("go")
	if err != nil {
		t.Skip("no go command: ", err)
	}
	root, err := exec.Command(command, "env", "GOROOT").Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range []string{"LICENSE", "PATENTS"} {
		text, err := os.ReadFile(filepath.Join(strings.TrimSpace(string(root)), file))
		if err != nil {
			t.Skip("this Go comes without its licence: ", err)
		}
		add("Go, its packages and run time", string(text))
	}
	for _, p := range linkedPackages(t, command) {
		found := 0
		for folder := p.dir; ; folder = filepath.Dir(folder) {
			for _, text := range licenceTexts(t, folder) {
				add(p.module, text)
				found++
			}
			if folder == p.root {
				break
			}
		}
		if found == 0 {
			t.Errorf("%s has no licence in %s", p.module, p.root)
		}
	}
	var b strings.Builder
	b.WriteString("toneplumb itself: its owner has not chosen a licence yet. The text would stand here,\nand in a file LICENSE beside README.md.\n\n" +
		"Built into the program are the following, under their own licences.\n")
	rule := strings.Repeat("=", 80)
	for _, text := range texts {
		fmt.Fprintf(&b, "\n%s\n%s\n%s\n\n%s\n", rule, strings.Join(names[text], "\n"), rule, text)
	}
	return b.String()
}

// licenceFolder are those in which modules keep the licences of what they took over.
var licenceFolder = regexp.MustCompile(`(?i)licen[cs]es$`)

// notTaken is the licence that we do not choose: freetype may be had under either of two.
const notTaken = "gpl.txt"

// licenceTexts reads the licences in a folder, and in its folders of licences.
func licenceTexts(t *testing.T, folder string) (texts []string) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	whole := licenceFolder.MatchString(folder)
	for _, e := range entries {
		path := filepath.Join(folder, e.Name())
		switch {
		case e.IsDir() && licenceFolder.MatchString(e.Name()):
			texts = append(texts, licenceTexts(t, path)...)
		case e.Type().IsRegular() && e.Name() != notTaken && (whole || licenceFile.MatchString(e.Name())) && filepath.Ext(path) != ".go":
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			texts = append(texts, string(text))
		}
	}
	return texts
}

// linkedPackage is a package of another module: the module with its version, the package's
// folder, and the module's.
type linkedPackage struct{ module, dir, root string }

// linkedPackages asks go what is linked on each system, in the order of their paths.
func linkedPackages(t *testing.T, command string) []linkedPackage {
	lines := map[string]bool{}
	for _, system := range []string{"linux", "darwin", "windows"} {
		list := exec.Command(command, "list", "-deps", "-f", `{{with .Module}}{{if not .Main}}{{.Path}} {{.Version}}{{"\t"}}{{$.Dir}}{{"\t"}}{{.Dir}}{{end}}{{end}}`, "toneplumb")
		list.Dir = "../.."
		list.Env = append(os.Environ(), "GOOS="+system, "CGO_ENABLED=0")
		out, err := list.Output()
		if err != nil {
			t.Fatalf("go list for %s: %v", system, err)
		}
		for line := range strings.Lines(string(out)) {
			lines[strings.TrimSpace(line)] = true
		}
	}
	delete(lines, "")
	var all []linkedPackage
	for line := range lines {
		cells := strings.Split(line, "\t")
		all = append(all, linkedPackage{cells[0], cells[1], cells[2]})
	}
	slices.SortFunc(all, func(a, b linkedPackage) int { return strings.Compare(a.module+a.dir, b.module+b.dir) })
	return all
}
