package cli

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/artefact"
	"toneplumb/match/cli/internal/files"
	"toneplumb/match/job"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/testkit"
)

// longestName is how long a file's name may be, in bytes: NAME_MAX of POSIX systems.
const longestName = 255

// refused runs a command line that must be refused in two lines, and returns them.
func refused(t *testing.T, args ...string) string {
	t.Helper()
	var stdout, stderr bytes.Buffer
	code := Run(context.Background(), args, strings.NewReader(""), &stdout, &stderr)
	if code != exitFailed || strings.Count(stderr.String(), "\n") != 2 || stdout.Len() > 0 {
		t.Errorf("%q: exit code %d, %q and %q; want two lines", args, code, &stdout, &stderr)
	}
	return stderr.String()
}

// done runs a command line that must succeed.
func done(t *testing.T, args ...string) {
	t.Helper()
	var stdout, stderr bytes.Buffer
	if code := Run(context.Background(), args, strings.NewReader(""), &stdout, &stderr); code != exitDone && code != exitOutside {
		t.Fatalf("%q: exit code %d, %s", args, code, &stderr)
	}
}

// Every command that takes an output replaces what is there only where that was asked for, but for
// pictures. It follows a link to it, keeps its permissions, leaves
// one that is read-only alone, and takes the longest name that the system takes.
func TestOutputsKept(t *testing.T) {
	testkit.Skip(t, "every output of every command, twice")
	if runtime.GOOS == "windows" {
		t.Skip("Windows has no such permissions, and links need a privilege there")
	}
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	synthesised(t, at("mix.wav"), 8, 1, biquad.Filter{Shape: biquad.HighShelf, FreqHz: 2000, GainDB: -4, Q: 0.7})
	synthesised(t, at("ref.wav"), 8, 2)
	synthesised(t, at("long.wav"), 16, 3)
	write(t, dir, "curve.csv", []byte("100,0\n1000,3\n10000,0\n"))
	write(t, dir, "moves.json", []byte(`{"version": 1, "rate_hz": 44100, "moves": [{"shape": "bell", "freq_hz": 425, "gain_db": -2.5, "q": 0.8}], "trim_db": 0.6}`))
	for _, row := range []struct {
		extension, line string // the output follows
	}{
		{".json", "match mix.wav ref.wav -o"},
		{".png", "match mix.wav ref.wav -o"},
		{".html", "match mix.wav ref.wav -o"},
		{".pdf", "match mix.wav ref.wav -o"},
		{".txt", "check mix.wav ref.wav -o"},
		{".csv", "class --ref ref.wav mix.wav -o"},
		{".json", "profile ref.wav -o"},
		{".svg", "fit curve.csv -o"},
		{".wav", "render mix.wav moves.json -o"},
		{".wav", "render moves.json --impulse"},
		{".wav", "eqtest -o"},
		{".json", "eqread long.wav long.wav --settings moves.json -o"},
		{".csv", "tracks mix.wav ref.wav mix.wav -o"},
	} {
		t.Run(row.line+" "+row.extension, func(t *testing.T) {
			to := t.TempDir()
			in := func(name string) string { return filepath.Join(to, name) }
			line := func(output string) []string {
				args := strings.Fields(row.line)
				for i, a := range args {
					if strings.Contains(a, ".") {
						args[i] = at(a)
					}
				}
				return append(args, output)
			}
			if err := os.Mkdir(in("elsewhere"), 0o755); err != nil {
				t.Fatal(err)
			}
			target, link := in("elsewhere/target"+row.extension), in("link"+row.extension)
			if err := os.WriteFile(target, []byte("old"), 0o600); err != nil {
				t.Fatal(err)
			}
			if err := os.Symlink(filepath.Join("elsewhere", "target"+row.extension), link); err != nil {
				t.Fatal(err)
			}
			if row.extension != ".png" && row.extension != ".svg" {
				if said := refused(t, line(link)...); !strings.Contains(said, "is there already") {
					t.Errorf("of an output that is there it is said %q", said)
				}
				if content, _ := os.ReadFile(target); string(content) != "old" {
					t.Error("an output was replaced without --replace")
				}
			}
			done(t, append(line(link), "--replace")...)
			info, err := os.Stat(target)
			if err != nil || info.Size() <= int64(len("old")) || info.Mode().Perm() != 0o600 {
				t.Errorf("what the link leads to has %d bytes and mode %o (%v)", info.Size(), info.Mode().Perm(), err)
			}
			if info, err := os.Lstat(link); err != nil || info.Mode()&os.ModeSymlink == 0 {
				t.Errorf("the link is none any more (%v)", err)
			}

			if err := os.WriteFile(target, []byte("old"), 0); err != nil {
				t.Fatal(err)
			}
			if err := os.Chmod(target, 0o444); err != nil {
				t.Fatal(err)
			}
			for _, output := range []string{target, link} {
				if said := refused(t, append(line(output), "--replace")...); !strings.Contains(said, filepath.Base(output)) || !strings.Contains(said, "it is read-only") {
					t.Errorf("of a read-only output it is said %q", said)
				}
			}
			if content, _ := os.ReadFile(target); string(content) != "old" {
				t.Error("a read-only output was replaced")
			}

			long := in(strings.Repeat("n", longestName-len(row.extension)) + row.extension)
			done(t, line(long)...)
			if info, err := os.Stat(long); err != nil || info.Size() == 0 {
				t.Errorf("the longest name: %v", err)
			}
			for _, folder := range []string{to, in("elsewhere")} {
				if hidden, _ := filepath.Glob(filepath.Join(folder, ".*")); len(hidden) > 0 {
					t.Errorf("left behind: %v", hidden)
				}
			}
		})
	}
}

// Two outputs that a link makes one are refused: one of them would be lost.
func TestOutputsOnce(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("links need a privilege on Windows")
	}
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	write(t, dir, "mix.wav", goodWAV(4).bytes())
	if err := os.Symlink("target.json", at("link.json")); err != nil { // of what is not there yet
		t.Fatal(err)
	}
	if said := refused(t, "match", at("mix.wav"), at("mix.wav"), "-o", at("target.json"), "-o", at("link.json")); !strings.Contains(said, "is named twice") {
		t.Errorf("said %q", said)
	}
}

// The context reaches what writes a document: an encoder in its middle, and the page,
// whose sound is encoded before anything is written.
func TestCancelWriting(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "endless.txt")
	ctx, cancel := context.WithCancel(context.Background())
	written := 0
	err := files.Put(ctx, false, []files.File{{Path: path, Write: func(w io.Writer) error {
		for {
			n, err := w.Write(make([]byte, 1<<20))
			if written += n; err != nil {
				return errors.New("an encoder's own words")
			}
			cancel()
		}
	}}})
	if !errors.Is(err, context.Canceled) || written > 2<<20 {
		t.Errorf("%d bytes were written, %v", written, err)
	}
	if left, _ := os.ReadDir(dir); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}

	synthesised(t, filepath.Join(dir, "mix.wav"), 8, 1)
	mix := measured(t, filepath.Join(dir, "mix.wav"))
	c, err := match.Compare(mix, []*measure.Recording{mix}, match.DefaultCompare())
	if err != nil {
		t.Fatal(err)
	}
	result := c.Solve(match.DefaultSolve())
	o := &job.MatchOutcome{Result: result}
	if o.Sound, err = (job.Reader{}).Cut(context.Background(), result, nil, true); err != nil {
		t.Fatal(err)
	}
	page, _ := artefact.Match.For("page.html")
	if err := page.Write(ctx, io.Discard, o, artefact.Style{}); !errors.Is(err, context.Canceled) {
		t.Errorf("a page, cancelled: %v", err)
	}
}
