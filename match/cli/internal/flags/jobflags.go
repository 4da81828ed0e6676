// Package flags turns the command line's flags into options of a job and into outputs: numbers,
// times, parts, equalisers, files, sizes. Errors are of type *[job.Failure].
package flags

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"toneplumb/match"
	"toneplumb/match/job"
	"toneplumb/match/table"
	"toneplumb/spectrum/finding"
)

// Job holds the flags that become a job's options. A command adds the groups that make sense for it;
// [Job.Parse] and [Job.Read] turn them into the options.
type Job struct {
	job.Options

	EqualiserFlags
	smooth, span string
	parts        parts
	stage        string
	asMeasured   bool
	Already      string // path of earlier settings; "": none
}

// UsualJob returns the flags with their defaults.
func UsualJob() Job {
	return Job{Options: job.DefaultOptions(), smooth: "1/3", span: "40-16000", stage: match.Rough.String()}
}

// AddAdvice adds the flags about the moves; usual is the default stage.
func (f *Job) AddAdvice(cmd *cobra.Command, usual match.Stage) {
	flags := cmd.Flags()
	f.stage = usual.String()
	flags.IntVar(&f.Solve.MaxMoves, "moves", f.Solve.MaxMoves, "at most `N` moves")
	for _, n := range match.Numbers {
		AddNumber(cmd, n, &f.Solve)
	}
	f.EqualiserFlags.Add(cmd)
	flags.StringVar(&f.stage, "stage", f.stage, "how far off the mix may be, on a dial: `STAGE` rough (5 dB or more)\nor finished (less)")
	flags.BoolVar(&f.asMeasured, "as-measured", false, "follow the reference's balance as it is, arrangement and all")
	complete(cmd, "stage", match.Rough.String(), match.Finished.String())
}

// AddNumber adds the flag of an option that is one number.
func AddNumber(cmd *cobra.Command, n match.Number, o *match.SolveOptions) {
	cmd.Flags().Var(&numberFlag{n.Of(o), func(s string) (float64, error) { return readNumber(strings.TrimSuffix(s, n.Unit)) }}, n.Flag, n.Usage)
}

// AddJudged adds the flags about what is compared.
func (f *Job) AddJudged(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&f.smooth, "smooth", f.smooth, "smooth over this `FRACTION` of an octave")
	flags.StringVar(&f.span, "range", f.span, "judge only these `FREQUENCIES` in Hz")
	f.parts.add(cmd)
}

// AddPrevious adds the flag for an earlier round; usage says what the command does with it.
func (f *Job) AddPrevious(cmd *cobra.Command, usage string) {
	cmd.Flags().StringVar(&f.Already, "already", "", "the mix already runs through the moves of settings `FILE` (.json):\n"+usage)
}

// AddPlain adds the flag that leaves names out.
func (f *Job) AddPlain(cmd *cobra.Command) { AddPlain(cmd, &f.Plain) }

// AddPlain adds the flag that leaves names out to a command without a [Job].
func AddPlain(cmd *cobra.Command, plain *bool) {
	cmd.Flags().BoolVar(plain, "plain", false, "leave the names of all recordings out of what is written and printed")
}

// Parse reads and checks the flags, before any file is read.
func (f *Job) Parse(cmd *cobra.Command) error {
	f.Stdin = cmd.InOrStdin()
	help := "see " + cmd.CommandPath() + " --help"
	oct, err := parseFraction(f.smooth)
	if err != nil {
		return job.Fail(finding.WrongOption, "use one of 1/1 1/2 1/3 1/6 1/12 1/24", "--smooth %q is not a fraction of an octave", f.smooth)
	}
	low, high, found := strings.Cut(strings.ReplaceAll(f.span, "–", "-"), "-")
	lowHz, isLow := table.ReadNumber(low)
	highHz, isHigh := table.ReadNumber(high)
	if !found || !isLow || !isHigh {
		return job.Fail(finding.WrongOption, "write it as two frequencies, --range 40-16000 or --range 40-16k", "--range %q is not a range", f.span)
	}
	f.Compare = match.CompareOptions{SmoothOct: oct, RangeHz: [2]float64{lowHz, highHz}}
	if err := f.Compare.Check(); err != nil {
		return job.Fail(finding.WrongOption, help, "%s", err)
	}
	f.Solve.Stage, err = match.ParseStage(f.stage)
	switch {
	case f.asMeasured && cmd.Flags().Changed("stage"):
		return job.Fail(finding.OptionsClash, "leave one of them out", "--stage and --as-measured exclude each other")
	case f.asMeasured:
		f.Solve.Stage = match.AsMeasured
	case err != nil || f.Solve.Stage == match.AsMeasured:
		return job.Fail(finding.WrongOption, "write --stage rough or --stage finished", "there is no stage %q", f.stage)
	}
	if err := f.Solve.Check(); err != nil {
		return job.Fail(finding.WrongOption, help, "%s", err)
	}
	if f.Parts, err = f.parts.parse(); err != nil || cmd.Flag("eq") == nil {
		return err
	}
	return f.EqualiserFlags.Parse(cmd)
}

// Read reads the files named by flags.
func (f *Job) Read() (err error) {
	if f.Solve.Equaliser, err = f.EqualiserFlags.Read(f.Plain); err != nil {
		return err
	}
	f.Previous, err = job.ReadPrevious(f.Already, f.Stdin, f.Plain)
	return err
}

// parseFraction parses "1/3" or "1".
func parseFraction(s string) (float64, error) {
	over, under, found := strings.Cut(s, "/")
	if !found {
		under = "1"
	}
	a, err1 := strconv.ParseFloat(over, 64)
	b, err2 := strconv.ParseFloat(under, 64)
	return a / b, cmp.Or(err1, err2)
}

// mostWithinDB is the largest tolerance. Our choice: ten times the amplitude in one zone is another
// tone by any rule.
const mostWithinDB = 20

// AddWithin adds the flag for the tolerance.
func (f *Job) AddWithin(cmd *cobra.Command) {
	cmd.Flags().Var(&numberFlag{&f.WithinDB, readWithin}, "within", "tolerance in every zone, as `DB`, instead of the rule above")
}

// readWithin parses a tolerance. One smaller than the last decimal shown would read as ±0.0 dB.
func readWithin(s string) (float64, error) {
	const leastDB = 0.1
	x, err := readNumber(s)
	if err == nil && (x < leastDB || x > mostWithinDB) {
		return 0, fmt.Errorf("it is not between %g and %d dB", leastDB, mostWithinDB)
	}
	return x, err
}
