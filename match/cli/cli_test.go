package cli

import (
	"bytes"
	"context"
	"io"
	"runtime/debug"
	"strings"
	"testing"
)

// GOGC stands where it is set.
func TestGarbage(t *testing.T) {
	const set = 70
	before := debug.SetGCPercent(set) // as Go does it at the start
	defer debug.SetGCPercent(before)
	for _, c := range []struct {
		gogc string
		want int
	}{{"70", set}, {"", garbagePercent}} {
		t.Setenv("GOGC", c.gogc)
		if code := Run(context.Background(), []string{"help"}, strings.NewReader(""), io.Discard, io.Discard); code != exitDone {
			t.Fatalf("exit code %d", code)
		}
		if got := debug.SetGCPercent(set); got != c.want {
			t.Errorf("GOGC=%s: %d %%, want %d", c.gogc, got, c.want)
		}
	}
}

// The document called - is read from the reader that Run was given.
func TestStdin(t *testing.T) {
	var stdout, stderr bytes.Buffer
	code := Run(context.Background(), []string{"fit", "-", "--moves", "1"}, strings.NewReader("20,0\n500,0\n1000,3\n2000,0\n20000,0\n"), &stdout, &stderr)
	if code != exitDone || !strings.Contains(stdout.String(), "bell") {
		t.Errorf("exit code %d, %s%s", code, &stdout, &stderr)
	}
}
