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
	// A build for tests records no commit, though it is a build in a git checkout.
	if got := versionText(); !strings.Contains(got, "commit not recorded: ") || !strings.Contains(got, "unless -buildvcs=false is set") {
		t.Errorf("the version is %q", got)
	}
}
