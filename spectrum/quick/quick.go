// Package quick keeps long tests out of the quick set, go test -short ./..., which suits
// every commit: what drives a browser, asks another program, or takes more than a second
// or so of processor time. It is for tests alone.
package quick

import (
	"os"
	"os/exec"
	"testing"
)

// Skip skips the test with -short and says why it is long: "drives a browser".
func Skip(t testing.TB, why string) {
	t.Helper()
	if testing.Short() {
		t.Skip("not with -short: " + why)
	}
}

// Tool skips a test that asks another program with -short and where that is missing. Where
// the checks from outside are required, by TONEPLUMB_ORACLES, a missing one fails it.
func Tool(t testing.TB, name string) {
	t.Helper()
	Skip(t, "asks "+name)
	if _, err := exec.LookPath(name); err == nil {
		return
	}
	if os.Getenv("TONEPLUMB_ORACLES") == "required" {
		t.Fatalf("%s is needed for this check and is not installed", name)
	}
	t.Skipf("%s is not installed", name)
}
