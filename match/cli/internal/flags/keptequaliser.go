package flags

import (
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"toneplumb/biquad/fit"
	"toneplumb/match/job"
	"toneplumb/match/report"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// EqualiserFlags are the flags that choose the equaliser the moves are for.
type EqualiserFlags struct {
	Equaliser string    // path of the description once parsed; "": the default one
	Stdin     io.Reader // the document called -
	keep      bool
}

const commonEqualiser = "default" // the value of --eq for the default one

// Add adds the flags to a command.
func (f *EqualiserFlags) Add(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.Equaliser, "eq", "", "what the equaliser can do, a description in `FILE` (.json); default is the\ncommon one")
	cmd.Flags().BoolVar(&f.keep, "keep", false, "take the equaliser of --eq from now on, whenever --eq is left out")
}

// Parse finds the description: the one that is named, else the one that was kept, which it reports
// on stderr. With --keep it keeps the one that is named.
func (f *EqualiserFlags) Parse(cmd *cobra.Command) error {
	f.Stdin = cmd.InOrStdin()
	kept, hasFolder := job.KeptEqualiser()
	switch {
	case f.keep && f.Equaliser == "":
		return job.Fail(finding.OptionsClash, "name it: --eq FILE --keep", "--keep keeps the equaliser of --eq, and there is none")
	case f.keep && !hasFolder:
		return job.Fail(finding.System, "set HOME, or name the equaliser each time", "there is no folder of yours to keep an equaliser in")
	case f.keep && f.Equaliser == "-":
		return job.Fail(finding.NoStream, "name a file", "--keep reads the equaliser a second time, which the standard input cannot be")
	case f.keep && f.Equaliser == commonEqualiser:
		f.Equaliser = ""
		if err := job.ForgetEqualiser(kept); err != nil {
			return err
		}
		fmt.Fprintln(cmd.ErrOrStderr(), "forgot the equaliser you kept; the moves are for the common one")
		return nil
	case f.keep:
		return keep(f.Equaliser, kept, cmd.ErrOrStderr())
	case f.Equaliser == commonEqualiser:
		f.Equaliser = ""
		return nil
	case f.Equaliser != "" || !hasFolder:
		return nil
	}
	if _, err := os.Stat(kept); err == nil {
		f.Equaliser = kept
		fmt.Fprint(cmd.ErrOrStderr(), Wrapped("The moves are for the equaliser you kept. --eq default takes the common one, for good with --keep."), "\n")
	}
	return nil
}

// Read reads the description. If it has no name of its own, the equaliser is named by where it comes from, since what is
// dialled there says for which equaliser it is. With plain, no file is named.
func (f *EqualiserFlags) Read(plain bool) (fit.Equaliser, error) {
	e, err := job.ReadEqualiser(f.Equaliser, f.Stdin)
	if err != nil || e.Name != "" || f.Equaliser == "" {
		return e, err
	}
	switch kept, _ := job.KeptEqualiser(); {
	case f.Equaliser == kept:
		e.Name = "the one you kept"
	case plain || f.Equaliser == "-":
		e.Name = "the one you described"
	default:
		e.Name = "the one in " + measure.NameOf(f.Equaliser)
	}
	return e, nil
}

// keep copies a valid description to where it is kept.
func keep(from, to string, stderr io.Writer) error {
	if _, err := job.ReadEqualiser(from, nil); err != nil {
		return err
	}
	text, err := os.ReadFile(from)
	if err != nil {
		return job.Unreadable(from, err)
	}
	if err := job.KeepEqualiser(to, text); err != nil {
		return err
	}
	fmt.Fprintf(stderr, "kept the equaliser as %s\n", report.Printable(to))
	return nil
}
