package audio

import (
	"bytes"
	"context"
	"encoding/hex"
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/internal/audiotest"
)

// putFile writes a file with AtomicFile.
func putFile(t *testing.T, path, content string) {
	t.Helper()
	f, err := CreateAtomic(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Abort()
	if _, err := f.Write([]byte(content)); err != nil {
		t.Fatal(err)
	}
	if err := f.Commit(); err != nil {
		t.Fatal(err)
	}
}

func wantContent(t *testing.T, path, want string) {
	t.Helper()
	if got, err := os.ReadFile(path); err != nil || string(got) != want {
		t.Errorf("%s holds %q (%v), want %q", path, got, err, want)
	}
}

// wantFiles checks the names of all files in a folder, including hidden ones.
func wantFiles(t *testing.T, dir string, want ...string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	var got []string
	for _, e := range entries {
		got = append(got, e.Name())
	}
	if err != nil || strings.Join(got, " ") != strings.Join(want, " ") {
		t.Errorf("%s holds %v (%v), want %v", dir, got, err, want)
	}
}

// A replaced file keeps its permissions, and the temporary file has them before its first
// byte is written. A new file has the usual permissions minus the user's mask.
func TestAtomicMode(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("Windows has no such permissions")
	}
	dir := t.TempDir()
	usual := filepath.Join(dir, "usual")
	if err := os.WriteFile(usual, nil, 0o666); err != nil { // the system takes the mask off
		t.Fatal(err)
	}
	mode := func(path string) os.FileMode {
		t.Helper()
		info, err := os.Stat(path)
		if err != nil {
			t.Fatal(err)
		}
		return info.Mode().Perm()
	}
	fresh := filepath.Join(dir, "new")
	putFile(t, fresh, "new")
	if got, want := mode(fresh), mode(usual); got != want {
		t.Errorf("a new file has mode %o, want %o", got, want)
	}
	for _, want := range []os.FileMode{0o600, 0o644, 0o640, 0o755, 0o666, 0o200} {
		path := filepath.Join(dir, "old")
		if err := os.WriteFile(path, []byte("old"), 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.Chmod(path, want); err != nil { // past the mask
			t.Fatal(err)
		}
		f, err := CreateAtomic(path)
		if err != nil {
			t.Fatal(err)
		}
		if got := mode(f.file.Name()); got != want {
			t.Errorf("mode %o: %o while it is written", want, got)
		}
		if err := f.Commit(); err != nil {
			t.Fatal(err)
		}
		if got := mode(path); got != want {
			t.Errorf("mode %o: %o afterwards", want, got)
		}
		if err := os.Remove(path); err != nil {
			t.Fatal(err)
		}
	}
}

// A read-only file is not replaced, even where root could write it.
func TestAtomicReadOnly(t *testing.T) {
	dir := t.TempDir()
	path, link := filepath.Join(dir, "kept"), filepath.Join(dir, "link")
	if err := os.WriteFile(path, []byte("kept"), 0o444); err != nil {
		t.Fatal(err)
	}
	_, err := CreateAtomic(path)
	audiotest.WantProblem(t, err, "cannot be written: it is read-only")
	audiotest.WantProblem(t, CheckWritable(path), "cannot be written: it is read-only")
	wantContent(t, path, "kept")
	if runtime.GOOS == "windows" {
		return // links need a privilege there
	}
	if err := os.Symlink("kept", link); err != nil {
		t.Fatal(err)
	}
	audiotest.WantProblem(t, CheckWritable(link), "cannot be written: it is read-only")
	wantFiles(t, dir, "kept", "link")
}

// The target of a link is replaced, in any folder, and the link stays.
func TestAtomicLinks(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("links need a privilege on Windows")
	}
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, filepath.FromSlash(name)) }
	for _, folder := range []string{"here", "there/deep"} {
		if err := os.MkdirAll(at(folder), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	for _, link := range [][2]string{
		{"here/relative", "../there/target"},
		{"here/absolute", at("there/target")},
		{"here/chain", "relative"},
		{"here/dangling", "../there/comes"},
		{"folder", "there/deep"},          // a link to a folder,
		{"there/deep/up", "../target"},    // in which a link leads up: to there, not to dir
		{"here/gone", "../nowhere/comes"}, // into a folder that is not there
		{"here/round", "round"},
	} {
		if err := os.Symlink(link[1], at(link[0])); err != nil {
			t.Fatal(err)
		}
	}
	for _, row := range []struct{ link, target string }{
		{"here/relative", "there/target"}, {"here/absolute", "there/target"}, {"here/chain", "there/target"},
		{"here/dangling", "there/comes"}, {"folder/up", "there/target"},
	} {
		putFile(t, at(row.link), row.link)
		wantContent(t, at(row.target), row.link)
		if info, err := os.Lstat(at(row.link)); err != nil || info.Mode()&os.ModeSymlink == 0 {
			t.Errorf("%s is a link no more (%v)", row.link, err)
		}
		goal, _ := os.Stat(Goal(at(row.link)))
		target, _ := os.Stat(at(row.target))
		if !os.SameFile(goal, target) {
			t.Errorf("the goal of %s is %s", row.link, Goal(at(row.link)))
		}
	}
	audiotest.WantProblem(t, CheckWritable(at("here/gone")), "cannot be written: no such file or directory")
	if err := CheckWritable(at("here/round")); err == nil {
		t.Error("a link to itself was followed")
	}
	wantFiles(t, at("here"), "absolute", "chain", "dangling", "gone", "relative", "round")
	wantFiles(t, at("there"), "comes", "deep", "target")
	wantFiles(t, dir, "folder", "here", "there")
}

// A name may be as long as the system allows.
func TestAtomicLongName(t *testing.T) {
	const longest = 255 // bytes: NAME_MAX of POSIX systems; on Windows letters
	dir := t.TempDir()
	name := strings.Repeat("n", longest)
	putFile(t, filepath.Join(dir, name), "long")
	wantFiles(t, dir, name)
	if err := CheckWritable(filepath.Join(dir, name+"n")); err == nil { // at once, not after the work
		t.Error("a name that is too long was taken")
	}
	wantFiles(t, dir, name)
}

// Until Commit the file is hidden under a temporary name, and Abort removes it.
func TestAtomicAbort(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.txt")
	if err := os.WriteFile(path, []byte("old"), 0o644); err != nil {
		t.Fatal(err)
	}
	f, err := CreateAtomic(path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.Write([]byte("new")); err != nil {
		t.Fatal(err)
	}
	if ours, _ := filepath.Match(PartPattern, filepath.Base(f.file.Name())); !ours || filepath.Dir(f.file.Name()) != dir {
		t.Errorf("the temporary file is %s", f.file.Name())
	}
	if err := f.Finish(); err != nil {
		t.Fatal(err)
	}
	wantContent(t, path, "old")
	f.Abort()
	f.Abort()
	wantContent(t, path, "old")
	wantFiles(t, dir, "a.txt")
}

// What CommitNew put in place is taken back, but not what replaced it or what Commit put in place.
func TestAtomicTakeBack(t *testing.T) {
	for _, c := range []struct {
		name string
		put  func(*AtomicFile) error
		then string // put in its place; "": nothing
		want string // "": no file
	}{{"new", (*AtomicFile).CommitNew, "", ""}, {"replaced since", (*AtomicFile).CommitNew, "theirs", "theirs"}, {"not new", (*AtomicFile).Commit, "", "ours"}} {
		path := filepath.Join(t.TempDir(), "a.txt")
		f, err := CreateAtomic(path)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := f.Write([]byte("ours")); err != nil {
			t.Fatal(err)
		}
		if err := c.put(f); err != nil {
			t.Fatal(err)
		}
		if c.then != "" {
			putFile(t, path, c.then)
		}
		f.TakeBack()
		if got, err := os.ReadFile(path); string(got) != c.want || (err == nil) != (c.want != "") {
			t.Errorf("%s: %q, %v", c.name, got, err)
		}
	}
}

// CommitNew replaces neither a file nor a folder that has appeared, and leaves nothing behind.
func TestAtomicCommitNew(t *testing.T) {
	for _, appears := range []func(path string) error{
		func(path string) error { return os.WriteFile(path, nil, 0o644) },
		func(path string) error { return os.Mkdir(path, 0o755) },
	} {
		dir := t.TempDir()
		path := filepath.Join(dir, "a.txt")
		f, err := CreateAtomic(path)
		if err != nil {
			t.Fatal(err)
		}
		if err := appears(path); err != nil {
			t.Fatal(err)
		}
		var refused *Error
		if err := f.CommitNew(); !errors.As(err, &refused) || refused.Kind != finding.WouldOverwrite {
			t.Errorf("error %v", err)
		}
		wantFiles(t, dir, "a.txt")
	}
}

// A file whose old name cannot be taken off is not left under two names.
func TestLinkNewLeavesOneName(t *testing.T) {
	dir := t.TempDir()
	putFile(t, filepath.Join(dir, "old"), "x")
	held := errors.New("held by another program")
	if err := linkNew(filepath.Join(dir, "old"), filepath.Join(dir, "new"), func(string) error { return held }); !errors.Is(err, held) {
		t.Errorf("error %v", err)
	}
	wantFiles(t, dir, "old")
}

// SHA256 of the example in FIPS 180-4, and with a cancelled context.
func TestSHA256(t *testing.T) {
	const abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad" // FIPS 180-4, "abc"
	path := filepath.Join(t.TempDir(), "a")
	if err := os.WriteFile(path, []byte("abc"), 0o644); err != nil {
		t.Fatal(err)
	}
	want, _ := hex.DecodeString(abc)
	if got, err := SHA256(context.Background(), path); err != nil || !bytes.Equal(got, want) {
		t.Errorf("%x, %v; want %s", got, err, abc)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := SHA256(ctx, path); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}
