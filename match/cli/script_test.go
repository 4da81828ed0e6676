package cli

import (
	"bytes"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"runtime/debug"
	"slices"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"toneplumb/biquad"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/testkit"
)

func TestMain(m *testing.M) {
	// Scripts have an environment of their own.
	if os.Getenv("WORK") == "" { // not the program inside a script
		// No test sees what the person who runs it has kept: os.UserConfigDir reads these.
		for _, folder := range []string{"XDG_CONFIG_HOME", "AppData"} {
			os.Setenv(folder, filepath.Join(os.TempDir(), "toneplumb tests have none"))
		}
		if os.Getenv("GOGC") == "" {
			percent, err := strconv.Atoi(testGarbage)
			if err != nil {
				panic(err)
			}
			debug.SetGCPercent(percent)
			os.Setenv("GOGC", testGarbage)
		}
	}
	testscript.Main(m, map[string]func(){"toneplumb": func() {
		ctx, stop := UntilStopped()
		defer stop()
		var said bytes.Buffer
		code := Run(ctx, os.Args[1:], os.Stdin, os.Stdout, io.MultiWriter(os.Stderr, &said))
		if code == exitFailed && !hasKinds(said.String()) {
			os.WriteFile(filepath.Join(os.Getenv("WORK"), kindless), said.Bytes(), 0o600)
		}
		os.Exit(code)
	}})
}

// testGarbage is the GOGC of tests. With the program's own [garbagePercent], whose use is for long
// recordings, sounds of a minute and less cost up to 1.6 times as much.
const testGarbage = "400"

// kindless is a file that the program leaves in a script's folder if an error had no kind.
const kindless = "error without a kind"

// hasKinds reports whether all errors on stderr have a kind, and none is the program's fault.
func hasKinds(stderr string) bool {
	errors := regexp.MustCompile(`(?m)^toneplumb: .*$`).FindAllString(stderr, -1)
	return len(errors) > 0 && !slices.ContainsFunc(errors, func(line string) bool {
		kind := regexp.MustCompile(` \[([a-z-]+)\]$`).FindStringSubmatch(line)
		return kind == nil || finding.ErrorKind(kind[1]) == finding.ProgramFault || aboutCode(kind[1]) == ""
	})
}

// The scripts run the command line as a person would. Beside testscript's own
// commands there is
//
//	sound FILE SECONDS SEED TILT_DB [LEVEL_DB]
//
// which writes a 16-bit stereo WAV of falling noise in phrases (TILT_DB is the gain
// of a high shelf at 2 kHz), and
//
//	cut FILE NEW BYTES
//
// which keeps the first bytes of a file.
//
// With -short only quickScripts run: quick.txtar has each command at its shortest.
func TestScripts(t *testing.T) {
	p := testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		UpdateScripts:       *testkit.Update,
		Setup: func(env *testscript.Env) error {
			t := env.T()
			env.Setenv("GOGC", os.Getenv("GOGC"))
			env.Defer(func() {
				if said, err := os.ReadFile(filepath.Join(env.WorkDir, kindless)); err == nil {
					t.Fatal("an error has no kind, or none that help knows: " + string(said))
				}
			})
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"sound": sound, "cut": cut},
	}
	if testing.Short() {
		p.Dir, p.Files = "", quickScripts
	}
	testscript.Run(t, p)
}

var quickScripts = []string{"testdata/script/quick.txtar", "testdata/script/fit.txtar"}

func sound(ts *testscript.TestScript, _ bool, args []string) {
	number := func(i int) float64 {
		if i >= len(args) {
			return 0
		}
		x, err := strconv.ParseFloat(args[i], 64)
		ts.Check(err)
		return x
	}
	const rate = 44100
	w, err := audio.CreateWAV(ts.MkAbs(args[0]), rate, 2, audio.PCM16)
	ts.Check(err)
	rng := rand.New(rand.NewPCG(uint64(number(2)), 1))
	filter := biquad.NewCascade([]biquad.Filter{
		{Shape: biquad.HighCut, FreqHz: 300, CutDBPerOct: 6},
		{Shape: biquad.HighShelf, FreqHz: 2000, GainDB: number(3), Q: math.Sqrt2 / 2},
	}, rate, 2)
	level := 0.5 * math.Pow(10, number(4)/20)
	block := audio.NewBlock(2, rate/10)
	for range int(number(1) * 10) {
		phrase := level * (0.3 + 0.7*rng.Float64())
		for i := range block[0] {
			both := rng.NormFloat64()
			block[0][i] = phrase * (both + 0.3*rng.NormFloat64())
			block[1][i] = phrase * (both + 0.3*rng.NormFloat64())
		}
		filter.Run(block)
		ts.Check(w.Write(block))
	}
	ts.Check(w.Close())
}

func cut(ts *testscript.TestScript, _ bool, args []string) {
	all, err := os.ReadFile(ts.MkAbs(args[0]))
	ts.Check(err)
	n, err := strconv.Atoi(args[2])
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), all[:n], 0o644))
}
