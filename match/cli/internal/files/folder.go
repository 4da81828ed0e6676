package files

import (
	"os"
	"path/filepath"
	"strings"

	"toneplumb/match/job"
)

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
		return nil, Unwritable(path, err)
	}
	return unmake, nil
}

// CheckEmpty returns an error if path is a file or a folder that holds something other than hidden
// files, which some systems leave in every folder.
func CheckEmpty(path string) error {
	info, err := os.Stat(path)
	switch {
	case os.IsNotExist(err):
		return nil
	case err == nil && !info.IsDir():
		return job.Fail("name a folder that is not there yet", "output %q is a file, not a folder", path)
	}
	entries, err := os.ReadDir(path)
	if err != nil {
		return Unwritable(path, err)
	}
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), ".") {
			return job.Fail("name a folder that is not there yet", "folder %q is not empty: it holds %q", path, e.Name())
		}
	}
	return nil
}

// CheckUnused returns an error if the file exists.
func CheckUnused(path string) error {
	if _, err := os.Stat(path); err == nil {
		return job.Fail("choose another name, or move that file away", "output %q is there already", path)
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
