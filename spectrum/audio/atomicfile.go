package audio

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"

	"toneplumb/spectrum/audio/codec"
)

// AtomicFile is a file that appears at its path complete or not at all. It is written beside its goal; Commit puts it
// in place, Abort throws it away. Where the path is a link, the file that it leads to is replaced and the link kept.
// A file that is replaced hands its permissions on. All errors are of type *Error.
type AtomicFile struct {
	path string // as the caller gave it
	goal string // after following links
	file *os.File
	err  error // first failure; Commit then gives up

	finished, ended bool
}

// PartPattern matches the names of the temporary files, for [filepath.Match]. They are short, since the goal's own name may be as
// long as a name can be, and hold a random number: a process that was killed leaves its file behind, and in a
// container its successor may have the same process number.
const PartPattern = ".toneplumb-*.part"

// CreateAtomic starts a file. It refuses a goal that is a folder, a device or read-only, and a folder that takes no file.
func CreateAtomic(path string) (*AtomicFile, error) {
	goal, err := followLinks(path)
	if err != nil {
		return nil, writeFailed(path, err)
	}
	replaced, err := replaceable(path, goal)
	if err != nil {
		return nil, err
	}
	mode := fs.FileMode(0o666) // less the user's mask
	if replaced != nil {
		mode = replaced.Mode().Perm()
	}
	name := filepath.Join(filepath.Dir(goal), fmt.Sprintf(".toneplumb-%d.part", rand.Uint64()))
	file, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
	if err != nil {
		return nil, writeFailed(path, err)
	}
	f := &AtomicFile{path: path, goal: goal, file: file}
	if replaced != nil {
		// At once, so that nobody reads the new content who could not read the old.
		if err := file.Chmod(mode); err != nil && !errors.Is(err, errors.ErrUnsupported) {
			f.Abort()
			return nil, writeFailed(path, err)
		}
	}
	return f, nil
}

// CheckWritable returns the error that [CreateAtomic] would return, and leaves nothing behind.
func CheckWritable(path string) error {
	f, err := CreateAtomic(path)
	if err == nil {
		f.Abort()
	}
	return err
}

// Goal returns the path of the file itself where path is a link, however many links lead to it, and also where
// that file is not there yet. What cannot be followed is returned as it is.
func Goal(path string) string {
	if goal, err := followLinks(path); err == nil {
		return goal
	}
	return path
}

func followLinks(path string) (string, error) {
	const mostLinks = 40 // as Linux has it, path_resolution(7)
	for range mostLinks {
		info, err := os.Lstat(path)
		if errors.Is(err, fs.ErrNotExist) {
			return path, nil
		}
		if err != nil {
			return "", err
		}
		if info.Mode()&fs.ModeSymlink == 0 {
			return path, nil
		}
		to, err := os.Readlink(path)
		if err != nil {
			return "", err
		}
		if filepath.IsAbs(to) {
			path = to
			continue
		}
		// The link is relative to where its folder really is.
		folder, err := filepath.EvalSymlinks(filepath.Dir(path))
		if err != nil {
			return "", err
		}
		path = filepath.Join(folder, to)
	}
	return "", errors.New("too many links lead from one to the next")
}

// replaceable returns what is known of the file that stands at the goal, nil if there is none.
func replaceable(path, goal string) (fs.FileInfo, error) {
	info, err := os.Stat(goal)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, nil
	case err != nil:
		return nil, writeFailed(path, err)
	case info.IsDir():
		return nil, &Error{Path: path, Problem: "cannot be written: it is a folder", Hint: "add a file name"}
	case !info.Mode().IsRegular():
		return nil, &Error{Path: path, Problem: "cannot be written: it is not an ordinary file", Hint: "choose another name"}
	}
	// By its mode, since root may write whatever the mode says; then by the system, which knows of owners and lists.
	readOnly := info.Mode().Perm()&0o222 == 0
	if !readOnly {
		file, err := os.OpenFile(goal, os.O_WRONLY, 0)
		switch {
		case err == nil:
			file.Close()
		case errors.Is(err, fs.ErrPermission):
			readOnly = true
		default:
			return nil, writeFailed(path, err)
		}
	}
	if readOnly {
		return nil, &Error{Path: path, Problem: "cannot be written: it is read-only", Hint: "choose another name, or make it writable"}
	}
	return info, nil
}

// Write appends to the file.
func (f *AtomicFile) Write(p []byte) (int, error) {
	n, err := f.file.Write(p)
	return n, f.note(err)
}

// WriteAt implements [io.WriterAt].
func (f *AtomicFile) WriteAt(p []byte, at int64) (int, error) {
	n, err := f.file.WriteAt(p, at)
	return n, f.note(err)
}

// note keeps the first failure and words it.
func (f *AtomicFile) note(err error) error {
	if err == nil {
		return nil
	}
	if f.err == nil {
		f.err = writeFailed(f.path, err)
	}
	return f.err
}

// Err returns the first failure of a Write, which the encoder in between may have worded otherwise.
func (f *AtomicFile) Err() error { return f.err }

// Finish has the system write the content out before it gets its name: else a power cut may leave the name with
// nothing in it. What remains for Commit is to rename, so that several files can be put in place together.
func (f *AtomicFile) Finish() error {
	if f.err != nil || f.finished {
		return f.err
	}
	f.finished = true
	err := f.file.Sync()
	if errors.Is(err, errors.ErrUnsupported) {
		err = nil // the drive does not know of this
	}
	if e := f.file.Close(); err == nil {
		err = e
	}
	return f.note(err)
}

// Commit finishes the file and puts it in place. On failure nothing is left behind.
func (f *AtomicFile) Commit() error {
	if f.ended {
		return f.err
	}
	err := f.Finish()
	if err == nil {
		err = f.note(os.Rename(f.file.Name(), f.goal))
	}
	if err != nil {
		f.Abort()
		return err
	}
	f.ended = true
	return nil
}

// Abort removes the temporary file. After Commit or another Abort it does nothing, so that it can be deferred.
func (f *AtomicFile) Abort() {
	if f.ended {
		return
	}
	f.ended = true
	f.file.Close()
	os.Remove(f.file.Name())
}

func writeFailed(path string, err error) error {
	return &Error{Path: path, Problem: "cannot be written: " + codec.Cause(err), Hint: "check the folder's name, its permissions and the free space", Err: err}
}
