//go:build unix

package audiotest

import (
	"syscall"
	"testing"
	"time"
)

// processorTime returns what this process has used of the processors.
func processorTime(t testing.TB) time.Duration {
	t.Helper()
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		t.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
