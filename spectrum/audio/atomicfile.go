package audio

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/finding"
)

// AtomicFile is a file that appears at its path complete or not at all. It is written under a temporary name in the
// same folder; Commit and CommitNew put it in place, Abort removes it. If the path is a symbolic link, the link stays and its target is
// replaced. A replaced file passes its permissions on. All errors are of type [*Error].
type AtomicFile struct {
	path string // as the caller gave it
	goal string // after following links
	file *os.File
	err  error // first failure; Commit then gives up

	finished, ended bool
	placed          fs.FileInfo // of the file that CommitNew put in place
}

// PartPattern matches the names of the temporary files, for [filepath.Match]. The names are short, since the goal's own
// name may be as long as a name can be. They hold a random number, not a process number: a process that was killed
// leaves its file behind, and in a container its successor may have the same process number.
const PartPattern = ".toneplumb-*.part"

// CreateAtomic starts a file. It returns an error if path is a folder, a device or a read-only file, or if no file can
// be created in its folder.
func CreateAtomic(path string) (*AtomicFile, error) {
	goal, err := followLinks(path)
	if err != nil {
		return nil, writeError(path, err)
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
		return nil, writeError(path, err)
	}
	f := &AtomicFile{path: path, goal: goal, file: file}
	if replaced != nil {
		// Before any content is written: who may not read the old content may not read the new.
		if err := file.Chmod(mode); err != nil && !errors.Is(err, errors.ErrUnsupported) {
			f.Abort()
			return nil, writeError(path, err)
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

// Goal follows symbolic links, any number of them in a row, to the path of the file itself, which need not exist yet. If
// it cannot follow them it returns path.
func Goal(path string) string {
	if goal, err := followLinks(path); err == nil {
		return goal
	}
	return path
}

func followLinks(path string) (string, error) {
	const mostLinks = 40 // the limit of Linux, path_resolution(7)
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

// replaceable describes the file at the goal, nil if there is none. It returns an error if that file cannot be replaced.
func replaceable(path, goal string) (fs.FileInfo, error) {
	info, err := os.Stat(goal)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, nil
	case err != nil:
		return nil, writeError(path, err)
	case info.IsDir():
		return nil, &Error{Kind: finding.WouldOverwrite, Path: path, Problem: "cannot be written: it is a folder", Hint: "add a file name"}
	case !info.Mode().IsRegular():
		return nil, &Error{Kind: finding.WouldOverwrite, Path: path, Problem: "cannot be written: it is not an ordinary file", Hint: "choose another name"}
	}
	// First the mode, since root may write regardless of it; then the system, which also knows owners and access lists.
	readOnly := info.Mode().Perm()&0o222 == 0
	if !readOnly {
		file, err := os.OpenFile(goal, os.O_WRONLY, 0)
		switch {
		case err == nil:
			file.Close()
		case errors.Is(err, fs.ErrPermission):
			readOnly = true
		default:
			return nil, writeError(path, err)
		}
	}
	if readOnly {
		return nil, &Error{Kind: finding.System, Path: path, Problem: "cannot be written: it is read-only", Hint: "choose another name, or make it writable"}
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

// note keeps the first failure as an [*Error] and returns it, also for later failures.
func (f *AtomicFile) note(err error) error {
	if err == nil {
		return nil
	}
	if f.err == nil {
		f.err = writeError(f.path, err)
	}
	return f.err
}

// Err returns the first failure of any method. An encoder that writes through the file may have wrapped it.
func (f *AtomicFile) Err() error { return f.err }

// Finish closes the file after the system has written its content to the drive: otherwise a power cut could leave an
// empty file under the final name. Commit then only renames, so several finished files can be put in place together.
func (f *AtomicFile) Finish() error {
	if f.err != nil || f.finished {
		return f.err
	}
	f.finished = true
	err := f.file.Sync()
	if errors.Is(err, errors.ErrUnsupported) {
		err = nil // the drive has no such operation
	}
	if e := f.file.Close(); err == nil {
		err = e
	}
	return f.note(err)
}

// Commit finishes the file and puts it in place, also of a file that is there. On failure nothing is left behind.
func (f *AtomicFile) Commit() error { return f.put(os.Rename) }

// CommitNew is like Commit, but fails if a file or folder is there by now.
func (f *AtomicFile) CommitNew() error {
	err := f.put(renameNew)
	if err == nil {
		f.placed, _ = os.Lstat(f.goal)
	}
	return err
}

// TakeBack removes the file again if CommitNew has put it in place, unless another has been put there since.
func (f *AtomicFile) TakeBack() {
	if there, err := os.Lstat(f.goal); err == nil && f.placed != nil && os.SameFile(there, f.placed) {
		os.Remove(f.goal)
	}
}

func (f *AtomicFile) put(rename func(from, to string) error) error {
	if f.ended {
		return f.err
	}
	err := f.Finish()
	if err == nil {
		if err = rename(f.file.Name(), f.goal); errors.Is(err, fs.ErrExist) {
			err = &Error{Kind: finding.WouldOverwrite, Path: f.path, Problem: "cannot be written: something of this name has appeared meanwhile", Hint: "look at it, then run this again under another name"}
			f.err = err
		} else {
			err = f.note(err)
		}
	}
	if err != nil {
		f.Abort()
		return err
	}
	f.ended = true
	return nil
}

// renameNew is like [os.Rename], but returns an error that is [fs.ErrExist] if there is something at the new name. A
// link fails then, in one step. A drive without links gets the next best, a look just before.
func renameNew(from, to string) error { return linkNew(from, to, os.Remove) }

// linkNew is renameNew; remove takes the old name off. If it fails, the new name is taken off again: a file under two
// names would change under both.
func linkNew(from, to string, remove func(name string) error) error {
	err := os.Link(from, to)
	if err == nil {
		if err = remove(from); err != nil {
			os.Remove(to)
		}
		return err
	}
	if _, there := os.Lstat(to); there == nil || errors.Is(err, fs.ErrExist) {
		return fs.ErrExist
	}
	return os.Rename(from, to)
}

// Abort removes the temporary file. After a successful Commit or another Abort it does nothing, so it can be deferred.
func (f *AtomicFile) Abort() {
	if f.ended {
		return
	}
	f.ended = true
	f.file.Close()
	os.Remove(f.file.Name())
}

func writeError(path string, err error) error {
	return &Error{Kind: finding.SystemKind(err), Path: path, Problem: "cannot be written: " + codec.Cause(err), Hint: "check the folder's name, its permissions and the free space", Err: err}
}
