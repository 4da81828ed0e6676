package cli

import (
	"context"
	"os"
	"os/signal"
	"syscall"
)

// UntilStopped returns a context that ends with Ctrl-C, when the terminal is closed and when
// the system shuts down, so that nothing is left half-written then. Under nohup, which
// ignores the closing of the terminal, the work goes on. Windows has no such signals; Go
// sends SIGTERM for a closed window there.
func UntilStopped() (context.Context, context.CancelFunc) {
	signals := []os.Signal{os.Interrupt, syscall.SIGTERM}
	if !signal.Ignored(syscall.SIGHUP) {
		signals = append(signals, syscall.SIGHUP)
	}
	return signal.NotifyContext(context.Background(), signals...)
}
