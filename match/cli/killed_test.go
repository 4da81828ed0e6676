package cli

import (
	"bytes"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"toneplumb/biquad"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/testkit"
)

// leftover reports whether a file is a temporary one of ours.
func leftover(name string) bool {
	is, _ := filepath.Match(audio.PartPattern, name)
	return is
}

// killCase is a command line in a folder of inputs, and the outputs it writes.
type killCase struct {
	args, outputs []string
	before, after map[string][]byte // outputs as an earlier run left them, and as this one does
	took          time.Duration     // a whole run
}

// A run that is killed at any moment leaves each output as it was or complete, the inputs
// as they were, and nothing in the way of the next run.
func TestKilled(t *testing.T) {
	testkit.Long(t, "kills 200 runs")
	const kills = 200 // over all commands
	dir, temporary := t.TempDir(), t.TempDir()
	program := filepath.Join(t.TempDir(), "toneplumb.exe") // Windows wants the extension, others do not mind
	build := exec.Command("go", "build", "-o", program, "toneplumb")
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	start := func(args []string) *exec.Cmd {
		cmd := exec.Command(program, args...)
		cmd.Dir, cmd.Env = dir, append(os.Environ(), "TMPDIR="+temporary)
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		return cmd
	}
	run := func(args ...string) time.Duration {
		t.Helper()
		began := time.Now()
		cmd := start(args)
		cmd.Wait()
		if code := cmd.ProcessState.ExitCode(); code != exitDone && code != exitOutside {
			t.Fatalf("%q: exit code %d", args, code)
		}
		return time.Since(began)
	}

	shelf := biquad.Filter{Shape: biquad.HighShelf, FreqHz: 2000, Q: 0.7}
	for i, name := range []string{"mix.wav", "reference.wav", "earlier.wav"} {
		shelf.GainDB = 4 * float64(i)
		synthesised(t, filepath.Join(dir, name), 8, uint64(i), shelf)
	}
	run("match", "mix.wav", "reference.wav", "-o", "moves.json")
	run("match", "mix.wav", "earlier.wav", "-o", "old-moves.json")
	inputs := contents(t, dir)

	var cases []*killCase
	for _, line := range []string{
		"match mix.wav reference.wav -o chart.png -o settings.json -o chart.pdf",
		"render mix.wav moves.json -o new.wav --impulse impulse.wav",
		"profile mix.wav reference.wav -o house.json",
		"class --ref reference.wav mix.wav -o class.csv -o class.html",
	} {
		c := &killCase{args: append(strings.Fields(line), "--replace")}
		for i, arg := range c.args {
			if i > 0 && (c.args[i-1] == "-o" || c.args[i-1] == "--impulse") {
				c.outputs = append(c.outputs, arg)
			}
		}
		cases = append(cases, c)
	}
	for _, c := range cases {
		run(strings.Fields(strings.NewReplacer("reference.wav", "earlier.wav", " moves.json", " old-moves.json").Replace(strings.Join(c.args, " ")))...)
		c.before = contents(t, dir, c.outputs...)
		c.took = run(c.args...)
		c.after = contents(t, dir, c.outputs...)
		for _, name := range c.outputs {
			if bytes.Equal(c.before[name], c.after[name]) || len(c.before[name]) == 0 {
				t.Fatalf("%s is the same before and after: nothing would be seen", name)
			}
			if err := os.Remove(filepath.Join(dir, name)); err != nil {
				t.Fatal(err)
			}
		}
	}

	rng := rand.New(rand.NewPCG(200, 9))
	done, left := 0, map[string]bool{}
	for i := range kills {
		c := cases[i%len(cases)]
		args := c.args[:len(c.args)-1] // without --replace
		if i/len(cases)%2 == 0 {       // the outputs are there, or not, by turns
			args = c.args
			for _, name := range c.outputs {
				write(t, dir, name, c.before[name])
			}
		}
		cmd := start(args)
		// Leaning to the end, where files are written, and a little beyond it.
		time.Sleep(time.Duration(1.1 * math.Sqrt(rng.Float64()) * float64(c.took)))
		cmd.Process.Kill()
		cmd.Wait()
		if cmd.ProcessState.Exited() {
			done++
		}
		now := contents(t, dir)
		for name, content := range inputs {
			if !bytes.Equal(now[name], content) {
				t.Fatalf("kill %d, %s: input %s was changed", i, c.args[0], name)
			}
			delete(now, name)
		}
		for name, content := range now {
			if leftover(name) { // and stays, in the way of later runs
				left[name] = true
				continue
			}
			if !slices.Contains(c.outputs, name) {
				t.Fatalf("kill %d, %s: left %s", i, c.args[0], name)
			}
			if !bytes.Equal(content, c.after[name]) && !bytes.Equal(content, c.before[name]) {
				t.Fatalf("kill %d, %s: %s of %d bytes is neither the old one nor the new one", i, c.args[0], name, len(content))
			}
			if err := os.Remove(filepath.Join(dir, name)); err != nil {
				t.Fatal(err)
			}
		}
		if i >= kills-len(cases) { // the last of each command: its next run
			run(c.args...)
			for name, content := range contents(t, dir, c.outputs...) {
				if !bytes.Equal(content, c.after[name]) {
					t.Errorf("%s, the run after the last kill: %s is another", c.args[0], name)
				}
				os.Remove(filepath.Join(dir, name))
			}
		}
	}
	for name := range contents(t, temporary) { // the mix as decoded, see audio.Cache
		if !strings.HasPrefix(name, "toneplumb-") || !strings.HasSuffix(name, ".sound") {
			t.Errorf("left %s among the system's temporary files", name)
		}
	}
	t.Logf("%d of %d runs were done before they were killed; %d temporary files were left", done, kills, len(left))
}

// contents reads files of a folder, all if none is named.
func contents(t *testing.T, dir string, names ...string) map[string][]byte {
	t.Helper()
	if len(names) == 0 {
		entries, err := os.ReadDir(dir)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range entries {
			names = append(names, e.Name())
		}
	}
	all := map[string][]byte{}
	for _, name := range names {
		b, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		all[name] = b
	}
	return all
}
