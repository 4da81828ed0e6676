package cli

import (
	"context"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"toneplumb/match"
	"toneplumb/spectrum/audio"
)

func newFit() *cobra.Command {
	o := fitOptions{rateHz: 48000, solve: match.DefaultSolve()}
	o.solve.TowardPercent = 100
	cmd := &cobra.Command{
		Use:   "fit CURVE",
		Short: "the moves that come nearest to a drawn curve",
		Long: `Reads a curve, one "freq_hz,gain_db" a line, and prints the moves of one
equaliser that come nearest to it. The level of the curve is made up by the trim.`,
		Example: "  toneplumb fit curve.csv --moves 3 -o chart.png\n  toneplumb fit curve.csv --exact-moves --continuous --json",
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) != 1 {
				return fail("toneplumb fit CURVE", "one curve is needed, %d given", len(args))
			}
			o.curve = args[0]
			return runFit(cmd.Context(), o, cmd.OutOrStdout())
		},
	}
	f := cmd.Flags()
	o.output.addPages(cmd)
	f.IntVar(&o.solve.MaxMoves, "moves", o.solve.MaxMoves, "at most `N` moves")
	f.BoolVar(&o.solve.ExactMoves, "exact-moves", false, "as many moves as --moves says")
	f.BoolVar(&o.solve.Continuous, "continuous", false, "anything between the steps of the dials")
	f.Float64Var(&o.rateHz, "rate", o.rateHz, "sample rate the equaliser runs at, in `HZ`")
	f.StringVar(&o.equaliser, "eq", "", eqUsage)
	return cmd
}

// eqUsage explains --eq in help.
const eqUsage = "what the equaliser can do, a description in `FILE` (.json)"

type fitOptions struct {
	curve, equaliser string
	rateHz           float64
	solve            match.SolveOptions
	output           outputOptions
}

func runFit(ctx context.Context, o fitOptions, stdout io.Writer) error {
	if err := o.solve.Check(); err != nil {
		return fail("see toneplumb fit --help", "%s", err)
	}
	outputs, err := o.output.plan(ctx, []string{o.curve, o.equaliser})
	if err != nil {
		return err
	}
	if err := useEqualiser(o.equaliser, &o.solve); err != nil {
		return err
	}
	file, err := openText(o.curve)
	if err != nil {
		return err
	}
	defer file.Close()
	points, err := match.ParseCurve(file)
	if err != nil {
		return fail("write one \"freq_hz,gain_db\" a line, frequencies ascending", "%q: %s", o.curve, err)
	}
	result, err := interruptible(ctx, func() (*match.Result, error) {
		r, err := match.FitCurve(points, o.rateHz, o.solve)
		if err != nil {
			return nil, fail("see toneplumb fit --help", "%q: %s", o.curve, err)
		}
		return r, nil
	})
	if err != nil {
		return err
	}
	return outputs.deliver(ctx, result, o.output, stdout)
}

// useEqualiser reads the description of an equaliser, if a file is named.
func useEqualiser(path string, o *match.SolveOptions) error {
	if path == "" {
		return nil
	}
	file, err := openText(path)
	if err != nil {
		return err
	}
	defer file.Close()
	const most = 1 << 20 // bytes; our choice: a thousand times what a description needs
	data, err := io.ReadAll(io.LimitReader(file, most))
	if err != nil {
		return unreadable(path, err)
	}
	if o.Equaliser, err = match.ParseEqualiser(data); err != nil {
		return fail("README.md and examples/ show how an equaliser is described", "%q: %s", path, err)
	}
	return nil
}

// openText opens an ordinary file to be read.
func openText(path string) (*os.File, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, unreadable(path, err)
	}
	if !info.Mode().IsRegular() {
		return nil, &audio.Error{Path: path, Problem: "is not an ordinary file", Hint: "name an ordinary file"}
	}
	file, err := os.Open(path)
	if err != nil {
		return nil, unreadable(path, err)
	}
	return file, nil
}

func unreadable(path string, err error) error {
	return &audio.Error{Path: path, Problem: fmt.Sprintf("cannot be read: %s", reasonOf(err)), Hint: "check the name and the folder"}
}
