//go:build unix

package audiotest

import (
	"syscall"
	"testing"
	"time"
)

// processorTime returns the processor time that this process has used so far, on all cores.
func processorTime(t testing.TB) time.Duration {
	t.Helper()
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		t.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
