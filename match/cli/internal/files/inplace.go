// Package files puts the files that a command writes in place, complete or not at all, and checks
// folders and paths before the work. Errors are of type *[job.Failure].
package files

import (
	"bufio"
	"cmp"
	"context"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"toneplumb/match/job"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/finding"
)

// File is a file's path with the function that writes its content.
type File struct {
	Path  string
	Write func(io.Writer) error
}

// MadeAnew reports whether a path is of a kind that is replaced without asking: the same chart is made
// again after every bounce, and nobody edits one.
func MadeAnew(path string) bool { return slices.Contains([]string{".png", ".svg"}, Extension(path)) }

// Put writes the documents and puts them in place once all are complete, so that no file is ever
// half-written. Sounds have already been written, see [Sounds]. When ctx ends, the next Write of
// an encoder fails, so a document stops midway too. Unless replace is true, a file that has appeared
// since the paths were checked is an error, but for those [MadeAnew], which are put in place last; then the new files
// that are in place are taken back, so that the same command can be run again.
func Put(ctx context.Context, replace bool, documents []File, sounds ...*audio.Writer) error {
	var put, last []func() error
	var back []func()
	for _, s := range sounds {
		defer s.Abort()
		back = append(back, s.TakeBack)
		if err := s.Finish(); err != nil {
			return err
		}
		if replace {
			put = append(put, s.Close)
		} else {
			put = append(put, s.CloseNew)
		}
	}
	for _, d := range documents {
		file, err := audio.CreateAtomic(d.Path)
		if err != nil {
			return err
		}
		defer file.Abort()
		back = append(back, file.TakeBack)
		if err := writeDocument(ctx, file, d); err != nil {
			return err
		}
		if replace || MadeAnew(d.Path) {
			last = append(last, file.Commit)
		} else {
			put = append(put, file.CommitNew)
		}
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	for _, commit := range slices.Concat(put, last) {
		if err := commit(); err != nil {
			for _, takeBack := range back {
				takeBack()
			}
			return err
		}
	}
	return nil
}

// writeDocument writes a document. An encoder may word the error that stopped it in its own way, so
// those of the context and the file come first.
func writeDocument(ctx context.Context, file *audio.AtomicFile, d File) error {
	const block = 1 << 16 // bytes; encoders write a few at a time
	w := bufio.NewWriterSize(ctxWriter{ctx, file}, block)
	err := d.Write(w)
	if err == nil {
		err = w.Flush()
	}
	if err := cmp.Or(ctx.Err(), file.Err(), err); err != nil {
		return err
	}
	return file.Finish()
}

// ctxWriter is a writer that fails once its context is done.
type ctxWriter struct {
	ctx context.Context
	io.Writer
}

func (w ctxWriter) Write(p []byte) (int, error) {
	if err := w.ctx.Err(); err != nil {
		return 0, err
	}
	return w.Writer.Write(p)
}

// Extension returns a path's extension in lower case, with the dot.
func Extension(path string) string { return strings.ToLower(filepath.Ext(path)) }

// Same reports whether two paths lead to the same existing file or folder.
func Same(a, b string) bool {
	one, err1 := os.Stat(a)
	other, err2 := os.Stat(b)
	return err1 == nil && err2 == nil && os.SameFile(one, other)
}

// SamePath reports whether two paths lead to the same file, which need not exist yet.
func SamePath(a, b string) bool {
	a, b = audio.Goal(a), audio.Goal(b)
	return Same(a, b) || filepath.Base(a) == filepath.Base(b) && Same(filepath.Dir(a), filepath.Dir(b))
}

// unwritable returns the error that an output cannot be written because of err.
func unwritable(path string, err error) error {
	return job.Fail(finding.SystemKind(err), "check the folder's name, its permissions and the free space", "output %q cannot be written: %s", path, codec.Cause(err))
}

// Sounds are WAV files that [Put] puts in place.
type Sounds []*audio.Writer

// Stage writes a whole sound, full scale ±1, to a WAV file of 24 bits.
func (all *Sounds) Stage(ctx context.Context, path string, rateHz int, sound [][]float64) error {
	w, err := audio.CreateWAV(path, rateHz, len(sound), audio.PCM24)
	if err != nil {
		return err
	}
	*all = append(*all, w)
	if err = w.Write(sound); err == nil {
		err = w.Finish()
	}
	return cmp.Or(ctx.Err(), err)
}

// Abort removes the files that are not in place.
func (all *Sounds) Abort() {
	for _, w := range *all {
		w.Abort()
	}
}

// Make makes a folder and its parents. unmake removes those it made that are empty.
func Make(path string) (unmake func(), err error) {
	var made []string // the deepest first
	for at := filepath.Clean(path); ; at = filepath.Dir(at) {
		if _, err := os.Stat(at); err == nil || at == filepath.Dir(at) {
			break
		}
		made = append(made, at)
	}
	unmake = func() {
		for _, folder := range made {
			os.Remove(folder)
		}
	}
	if err := os.MkdirAll(path, 0o755); err != nil {
		unmake()
		return nil, unwritable(path, err)
	}
	return unmake, nil
}

// CheckEmpty returns an error if path is a file or a folder that holds something other than hidden
// files, which some systems leave in every folder. The hint says what to do then.
func CheckEmpty(path, hint string) error {
	info, err := os.Stat(path)
	switch {
	case os.IsNotExist(err):
		return nil
	case err == nil && !info.IsDir():
		return job.Fail(finding.WouldOverwrite, hint, "output %q is a file, not a folder", path)
	}
	entries, err := os.ReadDir(path)
	if err != nil {
		return unwritable(path, err)
	}
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), ".") {
			return job.Fail(finding.WouldOverwrite, hint, "folder %q is not empty: it holds %q", path, e.Name())
		}
	}
	return nil
}

// CheckUnused returns an error if a file exists.
func CheckUnused(paths ...string) error {
	for _, path := range paths {
		if _, err := os.Stat(path); err == nil {
			return job.Fail(finding.WouldOverwrite, "choose another name, or move that file away", "output %q is there already", path)
		}
	}
	return nil
}

// Holds reports whether path lies in folder or below it. Neither needs to exist.
func Holds(folder, path string) bool {
	top, err1 := filepath.Abs(folder)
	at, err2 := filepath.Abs(path)
	if err1 != nil || err2 != nil {
		return false
	}
	for at != filepath.Dir(at) {
		at = filepath.Dir(at)
		if at == top || Same(at, top) {
			return true
		}
	}
	return false
}
