package cli

import (
	"context"
	"io"

	"github.com/spf13/cobra"

	"toneplumb/match"
	"toneplumb/match/artefact"
	"toneplumb/match/cli/internal/flags"
	"toneplumb/match/document"
	"toneplumb/match/job"
	"toneplumb/spectrum/finding"
)

func newFit() *cobra.Command {
	o := fitCommand{rateHz: 48000, solve: match.DefaultSolve()}
	o.solve.TowardPercent = 100
	cmd := &cobra.Command{
		Use:   "fit CURVE",
		Short: "the moves that come nearest to a drawn curve",
		Long: `Reads a curve, one "freq_hz,gain_db" a line, and prints the moves of one
equaliser that come nearest to it. The level of the curve is made up by the trim.
A curve called - is read from the standard input.`,
		Example: "  toneplumb fit curve.csv --moves 3 -o chart.png\n  toneplumb fit curve.csv --exact-moves --continuous --json",
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) != 1 {
				return fail(finding.FilesNeeded, "toneplumb fit CURVE", "one curve is needed, %d given", len(args))
			}
			o.curve = args[0]
			if err := o.EqualiserFlags.Parse(cmd); err != nil {
				return err
			}
			return runFit(cmd.Context(), o, cmd.OutOrStdout())
		},
	}
	f := cmd.Flags()
	o.output.AddMatch(cmd)
	f.IntVar(&o.solve.MaxMoves, "moves", o.solve.MaxMoves, "at most `N` moves")
	for _, n := range match.Numbers {
		if n.Flag != "toward" { // whoever draws a curve wants all of it
			flags.AddNumber(cmd, n, &o.solve)
		}
	}
	f.BoolVar(&o.solve.ExactMoves, "exact-moves", false, "as many moves as --moves says")
	f.BoolVar(&o.solve.Continuous, "continuous", false, "anything between the steps of the dials")
	f.Float64Var(&o.rateHz, "rate", o.rateHz, "sample rate the equaliser runs at, in `HZ`")
	o.EqualiserFlags.Add(cmd)
	return cmd
}

type fitCommand struct {
	flags.EqualiserFlags
	curve  string
	rateHz float64
	solve  match.SolveOptions
	output flags.Output
}

func runFit(ctx context.Context, o fitCommand, stdout io.Writer) error {
	if err := o.solve.Check(); err != nil {
		return fail(finding.KindOf(err, finding.WrongOption), "see toneplumb fit --help", "%s", err)
	}
	if err := flags.CheckPaths(o.output.Files, []string{o.curve, o.Equaliser}, artefact.Match.Extensions(), o.output.Replace); err != nil {
		return err
	}
	if err := o.output.Parse(); err != nil {
		return err
	}
	var err error
	if o.solve.Equaliser, err = o.EqualiserFlags.Read(false); err != nil {
		return err
	}
	points, err := job.ReadDocument(o.curve, o.Stdin, finding.CurveWrong, "write one \"freq_hz,gain_db\" a line, frequencies ascending", document.ParseCurve)
	if err != nil {
		return err
	}
	result, err := job.Interruptible(ctx, func() (*match.Result, error) {
		r, err := match.FitCurve(points, o.rateHz, o.solve)
		if err != nil {
			return nil, fail(finding.CurveWrong, "see toneplumb fit --help", "%q: %s", o.curve, err)
		}
		return r, nil
	})
	if err != nil {
		return err
	}
	return flags.Deliver(ctx, &o.output, artefact.Match, &job.MatchOutcome{Result: result}, stdout)
}
