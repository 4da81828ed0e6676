//go:build unix

package audio

import (
	"context"
	"path/filepath"
	"syscall"
	"testing"

	"toneplumb/spectrum/internal/audiotest"
)

// Opening a fifo without a writer would wait for ever.
func TestOpenRefusesFIFO(t *testing.T) {
	fifo := filepath.Join(t.TempDir(), "fifo")
	if err := syscall.Mkfifo(fifo, 0o600); err != nil {
		t.Fatal(err)
	}
	_, err := Open(context.Background(), fifo)
	audiotest.WantProblem(t, err, "is not an ordinary file")
}
