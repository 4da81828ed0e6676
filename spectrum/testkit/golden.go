package testkit

import (
	"bytes"
	"flag"
	"os"
	"testing"
)

// Update is the flag with which [Golden], and tests that write tables or pictures, write.
var Update = flag.Bool("update", false, "rewrite the expected files; read the diff before committing")

// Golden fails the test unless the file holds got; with -update it writes the file first.
func Golden(t testing.TB, path string, got []byte) {
	t.Helper()
	if *Update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s differs (-update writes it). Got\n%s\nwant\n%s", path, got, want)
	}
}
