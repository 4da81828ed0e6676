package cli

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"

	"toneplumb/spectrum/testkit"
)

// Ctrl-C, a system that shuts down and a terminal that is closed end every command that
// writes: its outputs are complete or not there, nothing else is left, and the exit code
// is 2 where it was not done. Each signal comes as soon as something is in a temporary file.
func TestSignals(t *testing.T) {
	testkit.Skip(t, "kills five commands in three ways")
	if runtime.GOOS == "windows" {
		t.Skip("Windows cannot send them to a program")
	}
	program, err := exec.LookPath("toneplumb") // this test itself, see TestMain
	if err != nil {
		t.Fatal(err)
	}
	inputs := t.TempDir()
	mix, ref, moves := filepath.Join(inputs, "mix.wav"), filepath.Join(inputs, "ref.wav"), filepath.Join(inputs, "moves.json")
	synthesised(t, mix, 12, 1)
	synthesised(t, ref, 12, 2)
	write(t, inputs, "moves.json", []byte(`{"version": 1, "rate_hz": 44100, "moves": [{"shape": "bell", "freq_hz": 425, "gain_db": -2.5, "q": 0.8}], "trim_db": 0.6}`))
	stopped := 0
	for _, row := range []struct {
		args  []string
		whole int // how many files and folders a run that is done leaves
	}{
		{[]string{"match", mix, ref, "-o", "page.html", "-o", "chart.png"}, 2},
		{[]string{"render", mix, moves, "-o", "moved.wav"}, 1},
		{[]string{"exercise", mix, "-n", "3", "-o", "lesson"}, 8},
		{[]string{"demo", "."}, 20},
		{[]string{"eqtest", "-o", "probe.wav", "-o", "prints.csv"}, 2},
	} {
		for _, signal := range []os.Signal{os.Interrupt, syscall.SIGTERM, syscall.SIGHUP} {
			dir := t.TempDir()
			var stderr bytes.Buffer
			cmd := exec.Command(program, row.args...)
			cmd.Dir, cmd.Stderr = dir, &stderr
			if err := cmd.Start(); err != nil {
				t.Fatal(err)
			}
			ended := make(chan error, 1)
			go func() { ended <- cmd.Wait() }()
			for running := true; running; {
				select {
				case err := <-ended:
					ended <- err
					running = false
				case <-time.After(time.Millisecond):
					if underWay(t, dir) {
						cmd.Process.Signal(signal)
						running = false
					}
				}
			}
			<-ended
			left := filesIn(t, dir)
			code := cmd.ProcessState.ExitCode()
			switch {
			case code == exitDone && len(left) == row.whole: // it was faster than the signal
			case code == exitFailed && len(left) == 0 && strings.Contains(stderr.String(), "toneplumb: stopped before it was done [stopped]\n"):
				stopped++
			default:
				t.Errorf("%s, %v: exit code %d, left %v\n%s", row.args[0], signal, code, left, &stderr)
			}
		}
	}
	// render, exercise and demo have a file under way for most of their time.
	if stopped < 9 {
		t.Errorf("%d of 15 runs were stopped", stopped)
	}
	t.Logf("%d of 15 runs were stopped by their signal, the others were done before it came", stopped)
}

// files returns all files under a folder, hidden ones too, and folders.
func filesIn(t *testing.T, dir string) (all []string) {
	t.Helper()
	err := filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if path != dir {
			all = append(all, strings.TrimPrefix(path, dir))
		}
		if os.IsNotExist(err) { // gone meanwhile
			return nil
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// underWay reports whether a temporary file under a folder holds something.
func underWay(t *testing.T, dir string) bool {
	for _, path := range filesIn(t, dir) {
		if info, err := os.Stat(filepath.Join(dir, path)); err == nil && leftover(info.Name()) && info.Size() > 0 {
			return true
		}
	}
	return false
}
