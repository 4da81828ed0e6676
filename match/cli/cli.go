// Package cli is the command line: commands, flags, help, the wording of errors,
// and the wiring of the packages below. Only this package knows of flags.
//
// Results go to stdout, all else to stderr. Exit codes: 0 done, 1 outside tolerance
// (check and class only), 2 could not be done, the reason on stderr in two lines: what
// happened, what to do.
//
// All packages but main lie below it; DEVELOPERS.md has the table of layers.
package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime/debug"
	"strings"

	"github.com/spf13/cobra"

	"toneplumb/match/job"
	"toneplumb/match/report"
	"toneplumb/spectrum/audio"
)

// Exit codes.
const (
	exitDone    = 0
	exitOutside = 1
	exitFailed  = 2
)

// garbagePercent is how much garbage may lie beside what is in use. Go's own 100 would
// double the table of a long recording. Our choice, measured: at 20 an hour takes 31 MB
// instead of 36 to 39, WAVs and charts no longer, MP3s 6 % more of the processor.
// Whoever sets GOGC, Go's own variable for it, has it as it is set.
const garbagePercent = 20

// errOutside ends a command that is done and found a mix outside its tolerance.
var errOutside = errors.New("outside tolerance")

// Run carries out one command line (without the program's name) and returns the
// exit code.
func Run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(garbagePercent)
	}
	root := newRoot()
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error { return flagFailure(cmd, args, err) })
	if err := mistyped(root, args); err != nil {
		printError(stderr, err)
		return exitFailed
	}
	root.SetArgs(withMatch(root, args))
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	if err := root.ExecuteContext(ctx); errors.Is(err, errOutside) {
		return exitOutside
	} else if err != nil {
		printError(stderr, err)
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

Bounce the mix with the master's limiter and loudness processing off.`,
		Example:       "  toneplumb rough-mix.wav reference.flac\n  toneplumb demo\n  toneplumb serve",
		SilenceUsage:  true,
		SilenceErrors: true,
		RunE: func(cmd *cobra.Command, args []string) error {
			return offer(cmd)
		},
	}
	root.CompletionOptions.DisableDefaultCmd = true
	root.SetHelpCommand(&cobra.Command{Use: "help", Short: "show this text", RunE: func(cmd *cobra.Command, args []string) error {
		return cmd.Root().Help()
	}})
	root.SuggestionsMinimumDistance = 2 // letters; our choice: one swap
	root.AddCommand(newMatch(), newCheck(), newClass(), newNearest(), newMeasure(), newProfile(), newFit(), newRender(), newEqtest(), newEqread(), newExercise(), newDemo(), newServe(), newTracks())
	return root
}

// withMatch puts "match" before arguments that name no command, so that
// `toneplumb MIX REFERENCE` is the same.
func withMatch(root *cobra.Command, args []string) []string {
	if len(args) == 0 {
		return args
	}
	first := args[0]
	if first == "-h" || first == "--help" || first == "help" {
		return args
	}
	for _, c := range root.Commands() {
		if c.Name() == first {
			return args
		}
	}
	if len(args) == 1 && !strings.ContainsAny(first, "./\\-") {
		return args // a mistyped command more likely than a file
	}
	return append([]string{"match"}, args...)
}

// mistyped returns an error if the first argument is no file and nearly a command.
func mistyped(root *cobra.Command, args []string) error {
	if len(args) == 0 || strings.HasPrefix(args[0], "-") || args[0] == "help" {
		return nil
	}
	if _, err := os.Lstat(args[0]); err == nil {
		return nil
	}
	nearly := root.SuggestionsFor(args[0])
	if len(nearly) == 0 || nearly[0] == args[0] {
		return nil
	}
	return fail(fmt.Sprintf("see toneplumb %s --help", nearly[0]),
		"unknown command %q; did you mean %q?", args[0], nearly[0])
}

// fail is an error of the command line: what happened, and what to do.
func fail(hint, format string, args ...any) error { return job.Fail(hint, format, args...) }

// flagFailure words an error of the flag parser. What it could not read may be a file
// whose name begins with a dash.
func flagFailure(cmd *cobra.Command, args []string, err error) error {
	what, _, _ := strings.Cut(err.Error(), ": strconv.") // Go's own words
	for _, arg := range args {
		if _, missing := os.Lstat(arg); missing == nil && strings.HasPrefix(arg, "-") {
			return fail(fmt.Sprintf("write %s for the file of that name", report.Printable("./"+arg)), "%s", what)
		}
	}
	return fail(fmt.Sprintf("see %s --help", cmd.CommandPath()), "%s", what)
}

// printError writes an error in two lines.
func printError(w io.Writer, err error) {
	what, hint := err.Error(), "see toneplumb --help"
	var f *job.Failure
	var a *audio.Error
	switch {
	case errors.Is(err, context.Canceled):
		what, hint = "stopped before it was done", "run it again to finish"
	case errors.As(err, &f):
		hint = f.Hint
	case errors.As(err, &a):
		hint = a.Hint
	}
	fmt.Fprintf(w, "toneplumb: %s\n  hint: %s\n", oneLine(what), oneLine(hint))
}

// oneLine keeps an error on its line: cobra's may have several.
func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }
