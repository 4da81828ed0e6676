// Package cli is the command line: commands, flags, help, the wording of errors, and the wiring of
// the packages below it. Only this package and those in its internal folder know about flags.
//
// Results go to stdout, everything else to stderr. Exit codes: 0 done; 1 outside tolerance (check
// and class only); 2 could not be done, with the reason on stderr in two lines: what happened,
// what to do.
//
// All packages except main are below it; DEVELOPERS.md has the table of layers.
package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"slices"
	"strings"
	"syscall"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"toneplumb/match/cli/internal/exercise"
	"toneplumb/match/cli/internal/flags"
	"toneplumb/match/cli/internal/terminal"
	"toneplumb/match/job"
	"toneplumb/match/report"
	"toneplumb/spectrum/finding"
)

// Exit codes.
const (
	exitDone    = 0
	exitOutside = 1
	exitFailed  = 2
)

// garbagePercent is the garbage allowed, in percent of live memory. Go's default of 100 would
// double the table of a long recording. Our choice, measured: at 20 an hour of sound takes 31 MB
// instead of 36 to 39; WAVs and charts take no longer, MP3s 6 % more processor time. GOGC, Go's own
// variable for it, takes precedence.
const garbagePercent = 20

// errOutside ends a command that has done its work and found a mix outside its tolerance.
var errOutside = errors.New("outside tolerance")

// Run executes one command line, args without the program's name, and returns the exit code.
func Run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(garbagePercent)
	}
	root := newRoot()
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error { return flagFailure(cmd, args, err) })
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	whole, err := withMatch(root, args)
	if err == nil {
		root.SetArgs(whole)
		err = root.ExecuteContext(ctx)
	}
	switch {
	case errors.Is(err, errOutside):
		return exitOutside
	case err != nil:
		terminal.PrintError(stderr, err)
		return exitFailed
	}
	return exitDone
}

func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:   "toneplumb MIX REFERENCE",
		Short: "the few broad moves that take a mix's tone to a reference's",
		Long: `Toneplumb measures how the overall tone of a mix differs from that of a
recording you trust, and turns the difference into a few broad moves for one
equaliser on the master bus. It advises; the ear decides.

Bounce the mix with the master's limiter and loudness processing off.

"toneplumb MIX REFERENCE" is short for "toneplumb match MIX REFERENCE"; its options
are listed by "toneplumb help match". "toneplumb help TOPIC" prints a text:
equalisers, files, lessons or messages. "toneplumb help CODE" is about the code
behind an error.`,
		Example:       "  toneplumb rough-mix.wav reference.flac\n  toneplumb demo\n  toneplumb serve",
		Version:       version,
		SilenceUsage:  true,
		SilenceErrors: true,
		RunE:          func(cmd *cobra.Command, args []string) error { return offerBrowser(cmd) },
	}
	root.CompletionOptions.DisableDefaultCmd = true
	cobra.MousetrapHelpText = "" // on Windows cobra would refuse a double click, see offerBrowser
	root.SetVersionTemplate(versionText())
	root.SetHelpCommand(newHelp())
	for _, c := range []*cobra.Command{newMatch(), newCheck(), newClass(), newNearest(), newMeasure(), newProfile(), newFit(), newRender(), newEqtest(), newEqread(), exercise.New(), newDemo(), newServe(), newTracks()} {
		root.AddCommand(flags.ExpandsPatterns(c))
	}
	root.AddCommand(newCompletion(), newLicences())
	return root
}

// ofRoot are the first words for the root command itself. The last two are used by the scripts of
// cobra's completion.
var ofRoot = []string{"-h", "--help", "help", "--version", cobra.ShellCompRequestCmd, cobra.ShellCompNoDescRequestCmd}

// withMatch puts "match" before arguments that name no command, so that `toneplumb MIX REFERENCE`
// is `toneplumb match MIX REFERENCE`. It is an error if the first is no file and was probably meant
// as a command: it is nearly the name of one, or has no dot, slash or pattern as a file would.
func withMatch(root *cobra.Command, args []string) ([]string, error) {
	if len(args) == 1 && args[0] == "version" {
		return []string{"--version"}, nil
	}
	if len(args) == 0 || slices.Contains(ofRoot, args[0]) || slices.ContainsFunc(root.Commands(), func(c *cobra.Command) bool { return c.Name() == args[0] }) {
		return args, nil
	}
	if _, err := os.Lstat(args[0]); err != nil && !strings.HasPrefix(args[0], "-") {
		if nearly := suggestion(root, args[0]); nearly != "" {
			return nil, fail(finding.UnknownCommand, fmt.Sprintf("see toneplumb help %s", nearly), "unknown command %q; did you mean %q?", args[0], nearly)
		}
		if !strings.ContainsAny(args[0], `./\*?`) {
			return nil, fail(finding.UnknownCommand, "toneplumb --help lists the commands; of a mix give the whole name, as mix.wav", "%q is neither a command nor a file", args[0])
		}
	}
	return append([]string{"match"}, args...), nil
}

// fail returns an error of the command line: what happened, and what to do.
func fail(kind finding.ErrorKind, hint, format string, args ...any) error {
	return job.Fail(kind, hint, format, args...)
}

// flagFailure words an error of the flag parser. The argument it could not parse may be a file
// whose name begins with a dash.
func flagFailure(cmd *cobra.Command, args []string, err error) error {
	what, _, _ := strings.Cut(err.Error(), ": strconv.") // Go's own words
	for _, arg := range args {
		if _, missing := os.Lstat(arg); missing == nil && strings.HasPrefix(arg, "-") {
			return fail(finding.WrongOption, fmt.Sprintf("write %s for the file of that name", report.Printable("./"+arg)), "%s", what)
		}
	}
	var unknown *pflag.NotExistError
	if errors.As(err, &unknown) {
		if nearly := nearlyOption(cmd, unknown.GetSpecifiedName()); nearly != "" {
			what += fmt.Sprintf("; did you mean --%s?", nearly)
		}
	}
	return fail(finding.WrongOption, fmt.Sprintf("see %s --help", cmd.CommandPath()), "%s", what)
}

// nearlyOption returns the option of a command that was probably meant, "" if none is near. Cobra finds
// the nearest of commands, so each option is made one.
func nearlyOption(cmd *cobra.Command, name string) string {
	options := &cobra.Command{}
	cmd.Flags().VisitAll(func(f *pflag.Flag) {
		options.AddCommand(&cobra.Command{Use: f.Name, Run: func(*cobra.Command, []string) {}})
	})
	if len(name) < 2 {
		return ""
	}
	return suggestion(options, name)
}

// suggestion returns the command that was probably meant: one that begins so, else a letter away, else two
// letters swapped, else two letters away; "" if none is.
func suggestion(root *cobra.Command, name string) string {
	letters := func(name string) string { return string(slices.Sorted(slices.Values([]rune(name)))) }
	for _, root.SuggestionsMinimumDistance = range []int{0, 1, 2} { // in letters; our choice: a slip of the hand
		nearly := root.SuggestionsFor(name)
		if i := slices.IndexFunc(nearly, func(other string) bool { return letters(other) == letters(name) }); i > 0 {
			nearly = nearly[i:]
		}
		if len(nearly) > 0 {
			return nearly[0]
		}
	}
	return ""
}

// UntilStopped returns a context that ends with Ctrl-C, when the terminal closes and when the
// system shuts down, so that nothing is left half-written. Under nohup, which ignores the closing
// of the terminal, the work continues. On Windows Go sends SIGTERM when the window closes.
func UntilStopped() (context.Context, context.CancelFunc) {
	signals := []os.Signal{os.Interrupt, syscall.SIGTERM}
	if !signal.Ignored(syscall.SIGHUP) {
		signals = append(signals, syscall.SIGHUP)
	}
	return signal.NotifyContext(context.Background(), signals...)
}
