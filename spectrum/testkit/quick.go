// Package testkit holds what tests of several packages share: long tests are kept out of the quick
// set, go test -short ./..., which is run at every commit ([Skip], [Long], [Tool]), and what a test makes
// is compared with a file that is kept ([Golden]). Long tests drive a browser, run another program, or
// take more than about a second of processor time. Only tests may import this package.
package testkit

import (
	"os"
	"os/exec"
	"testing"
)

// Skip skips the test under -short. why says what makes it long: "drives a browser".
func Skip(t testing.TB, why string) {
	t.Helper()
	if testing.Short() {
		t.Skip("not with -short: " + why)
	}
}

// Long skips the test under -short, and without TONEPLUMB_LONG. why says what makes it take minutes.
func Long(t testing.TB, why string) {
	t.Helper()
	Skip(t, why)
	if os.Getenv("TONEPLUMB_LONG") == "" {
		t.Skip("TONEPLUMB_LONG is not set: " + why)
	}
}

// Tool skips a test that runs another program, under -short and, as [Missing] does, if the program
// is not installed.
func Tool(t testing.TB, name string) {
	t.Helper()
	Skip(t, "asks "+name)
	if _, err := exec.LookPath(name); err != nil {
		Missing(t, name)
	}
}

// Missing skips the test because something is not installed, or fails it if TONEPLUMB_ORACLES is "required".
func Missing(t testing.TB, what string) {
	t.Helper()
	if os.Getenv("TONEPLUMB_ORACLES") == "required" {
		t.Fatalf("%s is needed for this check and is not installed", what)
	}
	t.Skipf("%s is not installed", what)
}
