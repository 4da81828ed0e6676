package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"

	"toneplumb/spectrum/audio"
)

// document is a file's name and what writes it.
type document struct {
	path  string
	write func(io.Writer) error
}

// putInPlace writes a temporary file beside each document and renames them when every
// one is complete, so that no file is ever half-written.
func putInPlace(ctx context.Context, documents []document) (err error) {
	var temporary []string
	defer func() {
		if err != nil {
			for _, name := range temporary {
				os.Remove(name)
			}
		}
	}()
	for _, d := range documents {
		if err := ctx.Err(); err != nil {
			return err
		}
		var content bytes.Buffer
		if err := d.write(&content); err != nil {
			return err
		}
		name, err := writeBeside(d.path, content.Bytes())
		if err != nil {
			return unwritable(d.path, err)
		}
		temporary = append(temporary, name)
	}
	for i, d := range documents {
		if err := os.Rename(temporary[i], d.path); err != nil {
			return unwritable(d.path, err)
		}
	}
	return nil
}

// writeBeside writes content to a new temporary file in the folder of path and
// returns its name. The number in it is drawn, for that of the process comes again: in
// a container it may always be 1, and a run that was killed leaves its file behind.
func writeBeside(path string, content []byte) (string, error) {
	name := filepath.Join(filepath.Dir(path), fmt.Sprintf(".%s.%d.part", filepath.Base(path), rand.Uint64()))
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666) // as the user's mask has it
	if err != nil {
		return "", err
	}
	_, err = f.Write(content)
	if err == nil {
		err = audio.OntoDisk(f)
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err != nil {
		os.Remove(name)
	}
	return name, err
}

func unwritable(path string, err error) error {
	return fail("check the folder's name, its permissions and the free space", "output %q cannot be written: %s", path, reasonOf(err))
}

// reasonOf is the system's reason without the path that Go puts before it.
func reasonOf(err error) error {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		return pe.Err
	}
	return err
}
