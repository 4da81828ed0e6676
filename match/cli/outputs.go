package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"toneplumb/match"
	"toneplumb/match/report"
)

// output is a file to be written, and how.
type output struct {
	path  string
	write func(io.Writer, *match.Result) error
}

type outputs []output

// formats by extension.
var formats = map[string]func(io.Writer, *match.Result) error{
	".png":  report.Chart,
	".json": report.JSON,
	".txt":  report.Text,
}

// planOutputs checks before the long work that each path names a format and can be
// written, and is none of the inputs.
func planOutputs(paths, inputs []string) (outputs, error) {
	var plan outputs
	for _, path := range paths {
		write := formats[strings.ToLower(filepath.Ext(path))]
		if write == nil {
			return nil, fail("end it in .png, .json or .txt", "output %q: its extension names no format", path)
		}
		if err := writable(path, inputs); err != nil {
			return nil, err
		}
		for _, other := range plan {
			if filepath.Clean(other.path) == filepath.Clean(path) {
				return nil, fail("name each output once", "output %q is named twice", path)
			}
		}
		plan = append(plan, output{path, write})
	}
	return plan, nil
}

// writable refuses a path that is an input, a folder, a device or in a folder that
// takes no file.
func writable(path string, inputs []string) error {
	there, err := os.Stat(path)
	if err == nil {
		for _, in := range inputs {
			if info, err := os.Stat(in); err == nil && os.SameFile(info, there) {
				return fail("choose another name for the output", "output %q is one of the recordings", path)
			}
		}
		if !there.Mode().IsRegular() {
			return fail("choose the name of a file", "output %q is not an ordinary file", path)
		}
	}
	name, err := writeBeside(path, nil)
	if err != nil {
		return unwritable(path, err)
	}
	return os.Remove(name)
}

func unwritable(path string, err error) error {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		err = pe.Err
	}
	return fail("check the folder's name, its permissions and the free space", "output %q cannot be written: %s", path, err)
}

// write renders all outputs and then puts them in place: a temporary file beside
// each, renamed when every one is complete, so that no file is ever half-written.
func (all outputs) write(ctx context.Context, r *match.Result) (err error) {
	var temporary []string
	defer func() {
		if err != nil {
			for _, name := range temporary {
				os.Remove(name)
			}
		}
	}()
	for _, out := range all {
		if err := ctx.Err(); err != nil {
			return err
		}
		var content bytes.Buffer
		if err := out.write(&content, r); err != nil {
			return err
		}
		name, err := writeBeside(out.path, content.Bytes())
		if err != nil {
			return unwritable(out.path, err)
		}
		temporary = append(temporary, name)
	}
	for i, out := range all {
		if err := os.Rename(temporary[i], out.path); err != nil {
			return unwritable(out.path, err)
		}
	}
	return nil
}

// writeBeside writes content to a new temporary file in the folder of path and
// returns its name.
func writeBeside(path string, content []byte) (string, error) {
	name := filepath.Join(filepath.Dir(path), fmt.Sprintf(".%s.%d.part", filepath.Base(path), os.Getpid()))
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666) // as the user's mask has it
	if err != nil {
		return "", err
	}
	_, err = f.Write(content)
	if e := f.Close(); err == nil {
		err = e
	}
	if err != nil {
		os.Remove(name)
	}
	return name, err
}
