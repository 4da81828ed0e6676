package words

import (
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// Words for people have one apostrophe, the straight one.
func TestOneApostrophe(t *testing.T) {
	seen := 0
	err := filepath.WalkDir("../..", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || strings.HasSuffix(path, "_test.go") || !slices.Contains([]string{".go", ".html", ".js", ".css", ".md"}, filepath.Ext(path)) {
			return err
		}
		text, err := os.ReadFile(path)
		seen++
		for n, line := range strings.Split(string(text), "\n") {
			if strings.ContainsRune(line, '\u2019') {
				t.Errorf("%s:%d: a curly apostrophe: %s", path, n+1, strings.TrimSpace(line))
			}
		}
		return err
	})
	if err != nil || seen < 100 {
		t.Errorf("%d files, %v", seen, err)
	}
}
