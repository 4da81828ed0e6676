//go:build unix

package cli

import (
	"path/filepath"
	"syscall"
)

func init() {
	unixInputs = []badInput{
		path("pipe", "?", func(dir string) (string, error) {
			return filepath.Join(dir, "pipe.wav"), syscall.Mkfifo(filepath.Join(dir, "pipe.wav"), 0o644)
		}),
		path("/dev/null", "?", func(string) (string, error) { return "/dev/null", nil }),
		path("/dev/zero", "?", func(string) (string, error) { return "/dev/zero", nil }),
	}
}
