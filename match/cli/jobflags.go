package cli

import (
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"toneplumb/match"
	"toneplumb/match/job"
)

// jobFlags are the flags that become a job's options. A command adds the groups that make
// sense for it; parse and read turn all of them into the options.
type jobFlags struct {
	job.Options

	equaliserFlags
	smooth, span string
	parts        partFlags
	stage        string
	asMeasured   bool
	already      string // a file
}

// usualJob returns the flags of a command that has not been told anything.
func usualJob() jobFlags {
	return jobFlags{Options: job.DefaultOptions(), smooth: "1/3", span: "40-16000", stage: match.Rough.String()}
}

// addAdvice adds the flags of the moves. A mix is usually at the stage named.
func (f *jobFlags) addAdvice(cmd *cobra.Command, usual match.Stage) {
	flags := cmd.Flags()
	f.stage = usual.String()
	flags.IntVar(&f.Solve.MaxMoves, "moves", f.Solve.MaxMoves, "at most `N` moves")
	flags.Var(&number{&f.Solve.TowardPercent, readPercent}, "toward", "go `PERCENT` of the way to the reference")
	f.equaliserFlags.add(cmd)
	flags.StringVar(&f.stage, "stage", f.stage, "how far off the mix may be: `STAGE` rough (2 to 6 dB) or finished (under 2 dB)")
	flags.BoolVar(&f.asMeasured, "as-measured", false, "follow the reference's balance as it is, arrangement and all")
	cmd.MarkFlagsMutuallyExclusive("stage", "as-measured")
	complete(cmd, "stage", match.Rough.String(), match.Finished.String())
}

// addJudged adds the flags of what is compared.
func (f *jobFlags) addJudged(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&f.smooth, "smooth", f.smooth, "smooth over this `FRACTION` of an octave")
	flags.StringVar(&f.span, "range", f.span, "judge only these `FREQUENCIES` in Hz")
	f.parts.add(cmd)
}

// addPrevious adds the flag of an earlier round.
func (f *jobFlags) addPrevious(cmd *cobra.Command, usage string) {
	cmd.Flags().StringVar(&f.already, "already", "", "the mix already runs through the moves of settings `FILE` (.json):\n"+usage)
}

// addPlain adds the flag that keeps names out.
func (f *jobFlags) addPlain(cmd *cobra.Command) { addPlain(cmd, &f.Plain) }

// addPlain gives a command the flag that keeps names out.
func addPlain(cmd *cobra.Command, plain *bool) {
	cmd.Flags().BoolVar(plain, "plain", false, "leave the names of all recordings out of what is written and printed")
}

// parse reads and checks what is written as text, before any file is touched.
func (f *jobFlags) parse(cmd *cobra.Command) error {
	help := "see " + cmd.CommandPath() + " --help"
	oct, err := parseFraction(f.smooth)
	if err != nil {
		return fail("use one of 1/1 1/2 1/3 1/6 1/12 1/24", "--smooth %q is not a fraction of an octave", f.smooth)
	}
	low, high, found := strings.Cut(strings.ReplaceAll(f.span, "–", "-"), "-")
	lowHz, err1 := readHertz(low)
	highHz, err2 := readHertz(high)
	if !found || err1 != nil || err2 != nil {
		return fail("write it as two frequencies, --range 40-16000 or --range 40-16k", "--range %q is not a range", f.span)
	}
	f.Compare = match.CompareOptions{SmoothOct: oct, RangeHz: [2]float64{lowHz, highHz}}
	if err := f.Compare.Check(); err != nil {
		return fail(help, "%s", err)
	}
	f.Solve.Stage, err = match.ParseStage(f.stage)
	switch {
	case f.asMeasured:
		f.Solve.Stage = match.AsMeasured
	case err != nil || f.Solve.Stage == match.AsMeasured:
		return fail("write --stage rough or --stage finished", "there is no stage %q", f.stage)
	}
	if err := f.Solve.Check(); err != nil {
		return fail(help, "%s", err)
	}
	if f.Parts, err = f.parts.parse(); err != nil || cmd.Flag("eq") == nil {
		return err
	}
	return f.equaliserFlags.parse(cmd)
}

// read reads the files that flags name.
func (f *jobFlags) read() (err error) {
	if f.Solve.Equaliser, err = job.ReadEqualiser(f.equaliser); err != nil {
		return err
	}
	f.Previous, err = job.ReadPrevious(f.already, f.Plain)
	return err
}

// parseFraction reads "1/3" or "1".
func parseFraction(s string) (float64, error) {
	over, under, found := strings.Cut(s, "/")
	if !found {
		under = "1"
	}
	a, err := strconv.ParseFloat(over, 64)
	if err != nil {
		return 0, err
	}
	b, err := strconv.ParseFloat(under, 64)
	if err != nil {
		return 0, err
	}
	return a / b, nil
}
