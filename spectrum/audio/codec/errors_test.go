package codec_test

import (
	"errors"
	"io/fs"
	"testing"

	"toneplumb/spectrum/audio/codec"
)

func TestCause(t *testing.T) {
	for said, want := range map[string]string{
		"no such file or directory":                  "no such file or directory",
		"The system cannot find the path specified.": "the system cannot find the path specified", // Windows, from memory
		"EOF": "EOF",
	} {
		if got := codec.Cause(&fs.PathError{Op: "open", Path: "x", Err: errors.New(said)}); got != want {
			t.Errorf("%q became %q, want %q", said, got, want)
		}
	}
}
