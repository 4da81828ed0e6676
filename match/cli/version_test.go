package cli

import (
	"os"
	"strings"
	"testing"
)

// DEVELOPERS.md says what the version changed.
func TestVersion(t *testing.T) {
	text, err := os.ReadFile("../../DEVELOPERS.md")
	if err != nil {
		t.Fatal(err)
	}
	if heading := "\n### " + version; !strings.Contains(string(text), heading) {
		t.Errorf("DEVELOPERS.md has no heading %q", heading)
	}
}
