// Package quick keeps long tests out of the quick set, go test -short ./..., which suits
// every commit. It is for tests alone.
package quick

import "testing"

// Skip skips the test with -short and says why it is long: "drives a browser".
func Skip(t testing.TB, why string) {
	t.Helper()
	if testing.Short() {
		t.Skip("not with -short: " + why)
	}
}
