package cli

import (
	"context"
	"fmt"
	"io"
	"slices"

	"github.com/spf13/cobra"

	"toneplumb/match"
	"toneplumb/match/report"
	"toneplumb/spectrum/measure"
)

// checkOptions is everything `check` can be told.
type checkOptions struct {
	mix        string
	references []string
	before     string // an earlier mix
	withinDB   float64
	parts      partOptions
	output     outputOptions
	compare    match.CompareOptions
}

func newCheck() *cobra.Command {
	var smooth, span string
	var o checkOptions
	cmd := &cobra.Command{
		Use:   "check MIX REFERENCE [REFERENCE...]",
		Short: "is the finished mix near enough, zone by zone",
		Long: `Holds a finished mix against references, or a profile of them, and says of each
zone how far it is over or under, and whether that is near enough, differs, or
cannot be told. The intervals hold the truth in all zones at once, 19 times in 20;
a zone differs only when its whole interval lies outside the tolerance, and is
near enough when its own value lies inside and the interval is no wider.

The tolerance is by how much one more song like the references may differ from
their mean: two songs by one maker usually differ by 3 to 6 dB. It is wide
beside one reference, a third narrower beside three, and wider where they
differ. One finished song in seven lies outside in some zone. Beside the mix's
own song it is 2 dB.

The exit code is 0 if the mix does not differ, 1 if it does, and 2 if that could
not be found.`,
		Example: `  toneplumb check mix.wav one.flac two.flac three.flac
  toneplumb check mix.wav house.json --within 2 -o check.png
  toneplumb check mix.wav house.json --before "mix of monday.wav"`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) < 2 {
				return fail("toneplumb check MIX REFERENCE", "a mix and at least one reference are needed, %d given", len(args))
			}
			o.mix, o.references = args[0], args[1:]
			var err error
			if o.compare, err = parseCompare(smooth, span); err != nil {
				return err
			}
			if err := o.parts.parse(); err != nil {
				return err
			}
			return runCheck(cmd.Context(), o, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	o.output.add(cmd, "a chart .png or .svg, the document .json, text .txt")
	addPlain(cmd, &o.output.plain)
	addWithin(cmd, &o.withinDB)
	addCompare(cmd, &smooth, &span)
	o.parts.add(cmd)
	cmd.Flags().StringVar(&o.before, "before", "", "say what has moved since this earlier mix, `FILE`, and whether nearer")
	return cmd
}

// mostWithinDB bounds a tolerance. Our choice: ten times the amplitude in one zone is
// another tone by any rule.
const mostWithinDB = 20

// addWithin gives a command the flag of the tolerance.
func addWithin(cmd *cobra.Command, withinDB *float64) {
	cmd.Flags().Var(&number{withinDB, readWithin}, "within", "tolerance in every zone, as `DB`, instead of the rule above")
}

// readWithin reads a tolerance. What is smaller than is shown would read as ±0.0 dB.
func readWithin(s string) (float64, error) {
	const leastDB = 0.1
	x, err := readNumber(s)
	if err == nil && (x < leastDB || x > mostWithinDB) {
		return 0, fmt.Errorf("it is not between %g and %d dB", leastDB, mostWithinDB)
	}
	return x, err
}

// checkWriters by extension.
func checkWriters(look report.Look) map[string]func(io.Writer, *match.Check) error {
	return map[string]func(io.Writer, *match.Check) error{
		".png":  func(w io.Writer, k *match.Check) error { return report.CheckChart(w, k, look) },
		".svg":  func(w io.Writer, k *match.Check) error { return report.CheckChartSVG(w, k, look) },
		".json": report.CheckJSON,
		".txt":  report.Check,
	}
}

func runCheck(ctx context.Context, o checkOptions, stdout, stderr io.Writer) error {
	recordings := append([]string{o.mix}, o.references...)
	if o.before != "" {
		recordings = append(recordings, o.before)
	}
	if err := o.output.check(recordings, []string{".png", ".svg", ".json", ".txt"}); err != nil {
		return err
	}
	inputs, err := readInputs(ctx, recordings, stderr)
	if err != nil {
		return err
	}
	mix, err := inputs[0].asMix()
	if err != nil {
		return err
	}
	names := &match.Naming{Plain: o.output.plain}
	mix = names.Mix(mix)
	references := names.References(asReferences(inputs[1 : 1+len(o.references)]))
	var before *measure.Recording
	if o.before != "" {
		if before, err = inputs[len(inputs)-1].asMix(); err != nil {
			return err
		}
		before = names.Before(before)
	}
	k, err := interruptible(ctx, func() (*match.Check, error) { return o.check(mix, before, references) })
	if err != nil {
		return err
	}
	if err := o.deliver(ctx, k, stdout); err != nil {
		return err
	}
	if k.Verdict == match.Differs {
		return errOutside
	}
	return nil
}

// check compares both mixes with the references.
func (o *checkOptions) check(mix, before *measure.Recording, references []*measure.Recording) (*match.Check, error) {
	now, counted, notes, err := o.parts.apply(mix, references)
	if err != nil {
		return nil, err
	}
	comparison, err := match.Compare(now, counted, o.compare)
	if err != nil {
		return nil, err
	}
	k := comparison.Verdict(o.withinDB)
	k.SetSides()
	k.Warnings = slices.Concat(notes, k.Warnings)
	if before == nil {
		return k, nil
	}
	then, counted, _, err := o.parts.apply(before, references)
	if err != nil {
		return nil, err
	}
	earlier, err := match.Compare(then, counted, o.compare)
	if err != nil {
		return nil, err
	}
	k.SetBefore(earlier)
	return k, nil
}

func (o *checkOptions) deliver(ctx context.Context, k *match.Check, stdout io.Writer) error {
	var documents []document
	for _, path := range o.output.files {
		write := checkWriters(o.output.look)[extension(path)]
		documents = append(documents, document{path, func(w io.Writer) error { return write(w, k) }})
	}
	if err := putInPlace(ctx, documents); err != nil {
		return err
	}
	if o.output.json {
		return report.CheckJSON(stdout, k)
	}
	if err := report.Check(stdout, k); err != nil {
		return err
	}
	wrote(stdout, o.output.files)
	return nil
}
