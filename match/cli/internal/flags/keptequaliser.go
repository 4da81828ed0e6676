package flags

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"toneplumb/match/cli/internal/files"
	"toneplumb/match/job"
	"toneplumb/match/report"
	"toneplumb/spectrum/audio/codec"
)

// EqualiserFlags say which equaliser the moves are for.
type EqualiserFlags struct {
	Equaliser string // a description's path once parsed; "": the default one
	keep      bool
}

// commonEqualiser is what --eq calls the default one.
const commonEqualiser = "default"

func (f *EqualiserFlags) Add(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.Equaliser, "eq", "", "what the equaliser can do, a description in `FILE` (.json); default is the\ncommon one")
	cmd.Flags().BoolVar(&f.keep, "keep", false, "take the equaliser of --eq from now on, whenever --eq is left out")
}

// Parse finds the description: the one that is named, else the one that was kept, which is
// said. With --keep the one that is named is kept.
func (f *EqualiserFlags) Parse(cmd *cobra.Command) error {
	kept, hasFolder := keptEqualiser()
	switch {
	case f.keep && f.Equaliser == "":
		return job.Fail("name it: --eq FILE --keep", "--keep keeps the equaliser of --eq, and there is none")
	case f.keep && !hasFolder:
		return job.Fail("set HOME, or name the equaliser each time", "there is no folder of yours to keep an equaliser in")
	case f.keep && f.Equaliser == "-":
		return job.Fail("name a file", "--keep reads the equaliser a second time, which the standard input cannot be")
	case f.keep && f.Equaliser == commonEqualiser:
		if err := os.Remove(kept); err != nil && !os.IsNotExist(err) {
			return job.Fail("remove it by hand", "%q cannot be removed: %s", kept, codec.Cause(err))
		}
		f.Equaliser = ""
		return nil
	case f.keep:
		return keep(cmd.Context(), f.Equaliser, kept, cmd.ErrOrStderr())
	case f.Equaliser == commonEqualiser:
		f.Equaliser = ""
		return nil
	case f.Equaliser != "" || !hasFolder:
		return nil
	}
	if _, err := os.Stat(kept); err == nil {
		f.Equaliser = kept
		fmt.Fprintln(cmd.ErrOrStderr(), "The moves are for the equaliser you kept. --eq default takes the common one, for good with --keep.")
	}
	return nil
}

// keptEqualiser is where a kept equaliser lies: in the folder that the system has for a
// person's settings. Not ok where there is none.
func keptEqualiser() (path string, ok bool) {
	folder, err := os.UserConfigDir()
	return filepath.Join(folder, "toneplumb", "equaliser.json"), err == nil
}

// keep copies a description that can be read to where it is kept.
func keep(ctx context.Context, from, to string, stderr io.Writer) error {
	if _, err := job.ReadEqualiser(from); err != nil {
		return err
	}
	text, err := os.ReadFile(from)
	if err != nil {
		return job.Unreadable(from, err)
	}
	if err := os.MkdirAll(filepath.Dir(to), 0o700); err != nil {
		return files.Unwritable(to, err)
	}
	err = files.Put(ctx, []files.File{{Path: to, Write: func(w io.Writer) error { _, err := io.Copy(w, bytes.NewReader(text)); return err }}})
	if err == nil {
		fmt.Fprintf(stderr, "kept the equaliser as %s\n", report.Printable(to))
	}
	return err
}
