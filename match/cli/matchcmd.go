package cli

import (
	"context"
	"io"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"toneplumb/match"
)

// matchOptions is everything `match` can be told.
type matchOptions struct {
	mix        string
	references []string
	equaliser  string
	output     outputOptions
	compare    match.CompareOptions
	solve      match.SolveOptions
}

func newMatch() *cobra.Command {
	var smooth, span string
	o := matchOptions{compare: match.DefaultCompare(), solve: match.DefaultSolve()}
	cmd := &cobra.Command{
		Use:   "match MIX REFERENCE [REFERENCE...]",
		Short: "the moves that take the mix's tone to the reference's",
		Long: `Measures the mix and the reference, prints the moves for one equaliser on the
master bus, and writes a chart or settings where asked to.`,
		Example: `  toneplumb match rough-mix.wav reference.flac -o chart.png -o settings.json
  toneplumb match rough-mix.wav one.mp3 two.mp3 --toward 100 --moves 3`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) < 2 {
				return fail("toneplumb match MIX REFERENCE", "a mix and at least one reference are needed, %d given", len(args))
			}
			o.mix, o.references = args[0], args[1:]
			if err := o.parse(smooth, span); err != nil {
				return err
			}
			return runMatch(cmd.Context(), o, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := cmd.Flags()
	o.output.add(cmd)
	f.IntVar(&o.solve.MaxMoves, "moves", o.solve.MaxMoves, "at most `N` moves")
	f.Float64Var(&o.solve.TowardPercent, "toward", o.solve.TowardPercent, "go `PERCENT` of the way to the reference")
	f.StringVar(&smooth, "smooth", "1/3", "smooth over this `FRACTION` of an octave")
	f.StringVar(&span, "range", "40-16000", "judge only these `FREQUENCIES` in Hz")
	f.StringVar(&o.equaliser, "eq", "", eqUsage)
	return cmd
}

// parse fills in the options that are written as text and checks all.
func (o *matchOptions) parse(smooth, span string) error {
	oct, err := parseFraction(smooth)
	if err != nil {
		return fail("use one of 1/1 1/2 1/3 1/6 1/12 1/24", "--smooth %q is not a fraction of an octave", smooth)
	}
	o.compare.SmoothOct = oct
	low, high, found := strings.Cut(span, "-")
	lowHz, err1 := strconv.ParseFloat(low, 64)
	highHz, err2 := strconv.ParseFloat(high, 64)
	if !found || err1 != nil || err2 != nil {
		return fail("write it as two frequencies in Hz, --range 40-16000", "--range %q is not a range", span)
	}
	o.compare.RangeHz = [2]float64{lowHz, highHz}
	if err := o.compare.Check(); err != nil {
		return fail("see toneplumb match --help", "%s", err)
	}
	if err := o.solve.Check(); err != nil {
		return fail("see toneplumb match --help", "%s", err)
	}
	return nil
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

func runMatch(ctx context.Context, o matchOptions, stdout, stderr io.Writer) error {
	inputs := append([]string{o.mix}, o.references...)
	outputs, err := o.output.plan(inputs)
	if err != nil {
		return err
	}
	if err := useEqualiser(o.equaliser, &o.solve); err != nil {
		return err
	}
	recordings, err := measureAll(ctx, inputs, stderr)
	if err != nil {
		return err
	}
	result, err := interruptible(ctx, func() (*match.Result, error) {
		comparison, err := match.Compare(recordings[0], recordings[1:], o.compare)
		if err != nil {
			return nil, err
		}
		return comparison.Solve(o.solve), nil
	})
	if err != nil {
		return err
	}
	return outputs.deliver(ctx, result, o.output, stdout)
}
