package cli

import (
	"fmt"
	"go/build"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// layers is the table of DEVELOPERS.md: a package imports only lower ones.
var layers = map[string]int{
	"toneplumb":                     11,
	"toneplumb/match/page/chromium": 11, // for tests alone: nothing may import it
	"toneplumb/match/cli":           10,
	"toneplumb/match/serve":         9,
	"toneplumb/match/artefact":      8,
	"toneplumb/match/job":           7,
	"toneplumb/match/page":          6,
	"toneplumb/match/class":         6,
	"toneplumb/match/lesson":        5,
	"toneplumb/match/tracks":        5,
	"toneplumb/match/listen":        4,
	"toneplumb/match/report":        5,
	"toneplumb/match/words":         4,
	"toneplumb/match":               3,
	"toneplumb/spectrum/measure":    2,
	"toneplumb/examples/demo":       2,
	"toneplumb/spectrum/loudness":   1,
	"toneplumb/biquad/fit":          1,
	"toneplumb/spectrum/audio":      1,
	"toneplumb/spectrum/audio/mp3":  0,
	"toneplumb/spectrum":            0,
	"toneplumb/biquad":              0,
	"toneplumb/plots":               0,
}

// homes says which package may import a module from outside; tests may use any.
var homes = map[string]string{
	"github.com/mjibson/go-dsp":     "toneplumb/spectrum",
	"github.com/go-audio":           "toneplumb/spectrum/audio",
	"github.com/hajimehoshi/go-mp3": "toneplumb/spectrum/audio",
	"github.com/mewkiz/flac":        "toneplumb/spectrum/audio",
	"gonum.org/v1/plot":             "toneplumb/plots",
	"gonum.org/v1/gonum":            "toneplumb/match",
	"golang.org/x/image":            "toneplumb/plots",
	"golang.org/x/text/unicode":     "toneplumb/plots",
	"golang.org/x/text/encoding":    "toneplumb/spectrum/measure",
	"golang.org/x/text/transform":   "toneplumb/spectrum/measure",
	"golang.org/x/text/collate":     "toneplumb/match/class",
	"golang.org/x/text/language":    "toneplumb/match/class",
	"github.com/spf13/cobra":        "toneplumb/match/cli",
	"github.com/vbauerster/mpb":     "toneplumb/match/cli",
	"golang.org/x/term":             "toneplumb/match/cli",
	"github.com/jfreymuth":          "toneplumb/spectrum/audio",
	"github.com/pion/opus":          "toneplumb/spectrum/audio",
	"github.com/chromedp":           "toneplumb/match/page/chromium",
}

func TestLayers(t *testing.T) {
	root, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
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
		if said := fmt.Sprintf("Layer %d of the table in DEVELOPERS.md", layer); !strings.Contains(packageComment(t, dir, p.GoFiles), said) {
			t.Errorf("the package comment of %s does not say %q", path, said)
		}
		for _, imported := range p.Imports {
			switch {
			case strings.HasPrefix(imported, "toneplumb"):
				if lower, known := layers[imported]; !known || lower >= layer {
					t.Errorf("%s (layer %d) imports %s (layer %d)", path, layer, imported, lower)
				}
			case strings.Contains(strings.SplitN(imported, "/", 2)[0], "."):
				if home := homeOf(imported); home != path {
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

// packageComment returns what stands over the package clauses of a folder's files.
func packageComment(t *testing.T, dir string, files []string) (text string) {
	for _, name := range files {
		f, err := parser.ParseFile(token.NewFileSet(), filepath.Join(dir, name), nil, parser.ParseComments|parser.PackageClauseOnly)
		if err != nil {
			t.Fatal(err)
		}
		text += f.Doc.Text()
	}
	return text
}

func homeOf(imported string) string {
	for module, home := range homes {
		if imported == module || strings.HasPrefix(imported, module+"/") {
			return home
		}
	}
	return ""
}
