package cli

import (
	"go/build"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// layersOf reads the table of layers in DEVELOPERS.md: a package imports only lower ones.
func layersOf(t *testing.T, root string) map[string]int {
	text, err := os.ReadFile(filepath.Join(root, "DEVELOPERS.md"))
	if err != nil {
		t.Fatal(err)
	}
	layers := map[string]int{}
	for _, row := range regexp.MustCompile(`(?m)^\| (\d+) \| (\S+) \|`).FindAllStringSubmatch(string(text), -1) {
		layer, _ := strconv.Atoi(row[1])
		layers[strings.TrimSuffix("toneplumb/"+row[2], "/main.go")] = layer
	}
	return layers
}

// homes says which package, with those in its folder, may import a module from outside; tests
// may use any.
var homes = map[string]string{
	"github.com/mjibson/go-dsp":     "toneplumb/spectrum",
	"github.com/go-audio":           "toneplumb/spectrum/audio/pcm",
	"github.com/hajimehoshi/go-mp3": "toneplumb/spectrum/audio/mp3",
	"github.com/mewkiz/flac":        "toneplumb/spectrum/audio/flac",
	"gonum.org/v1/plot":             "toneplumb/plots",
	"gonum.org/v1/gonum":            "toneplumb",
	"golang.org/x/image":            "toneplumb/plots",
	"golang.org/x/text/unicode":     "toneplumb/plots",
	"golang.org/x/text/encoding":    "toneplumb/spectrum/measure",
	"golang.org/x/text/transform":   "toneplumb/spectrum/measure",
	"golang.org/x/text/collate":     "toneplumb/match/report",
	"golang.org/x/text/language":    "toneplumb/match/report",
	"github.com/mattn/go-runewidth": "toneplumb/match/report",
	"github.com/spf13/cobra":        "toneplumb/match/cli",
	"github.com/spf13/pflag":        "toneplumb/match/cli",
	"github.com/vbauerster/mpb":     "toneplumb/match/cli",
	"golang.org/x/term":             "toneplumb/match/cli",
	"github.com/jfreymuth":          "toneplumb/spectrum/audio/ogg",
	"github.com/pion/opus":          "toneplumb/spectrum/audio/ogg",
	"github.com/chromedp":           "toneplumb/match/internal/browser",
	"github.com/coder/websocket":    "toneplumb/match/internal/browser",
}

func TestLayers(t *testing.T) {
	root, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	layers := layersOf(t, root)
	found := 0
	err = filepath.WalkDir(root, func(dir string, d os.DirEntry, err error) error {
		if err != nil || !d.IsDir() {
			return err
		}
		if name := d.Name(); strings.HasPrefix(name, ".") || name == "testdata" {
			return filepath.SkipDir
		}
		p, err := build.Default.ImportDir(dir, 0)
		if _, none := err.(*build.NoGoError); none {
			return nil
		}
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(root, dir)
		if err != nil {
			return err
		}
		path := strings.TrimSuffix("toneplumb/"+filepath.ToSlash(rel), "/.")
		layer, known := layers[path]
		if !known {
			t.Errorf("%s is not in the table of layers", path)
		}
		found++
		if !withoutExample[filepath.Base(dir)] && !strings.Contains(path, "/internal/") && dir != root && !hasExample(t, dir, p) {
			t.Errorf("%s has no Example that runs", path)
		}
		for _, imported := range p.Imports {
			switch {
			case strings.HasPrefix(imported, "toneplumb"):
				if lower, known := layers[imported]; !known || lower >= layer {
					t.Errorf("%s (layer %d) imports %s (layer %d)", path, layer, imported, lower)
				}
			case strings.Contains(strings.SplitN(imported, "/", 2)[0], "."):
				if home := homeOf(imported); home != path && !strings.HasPrefix(path, home+"/") {
					t.Errorf("%s imports %s, whose home is %q", path, imported, home)
				}
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if found != len(layers) {
		t.Errorf("%d packages found, %d in the table", found, len(layers))
	}
}

// withoutExample are the packages whose functions need a test that runs.
var withoutExample = map[string]bool{"testkit": true}

// hasExample reports whether a package's documentation has an example whose output is checked.
func hasExample(t *testing.T, dir string, p *build.Package) bool {
	for _, name := range append(p.TestGoFiles, p.XTestGoFiles...) {
		text, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(string(text), "\nfunc Example") && strings.Contains(string(text), "// Output:") {
			return true
		}
	}
	return false
}

func homeOf(imported string) string {
	for module, home := range homes {
		if imported == module || strings.HasPrefix(imported, module+"/") {
			return home
		}
	}
	return ""
}
