package cli

import (
	"context"
	"io"
	"slices"

	"github.com/spf13/cobra"

	"toneplumb/match"
	"toneplumb/match/artefact"
	"toneplumb/match/cli/internal/flags"
	"toneplumb/match/cli/internal/terminal"
	"toneplumb/match/job"
	"toneplumb/spectrum/finding"
)

type checkCommand struct {
	flags.Job
	output     flags.Output
	mix        string
	references []string
	before     string // an earlier mix
}

func newCheck() *cobra.Command {
	c := checkCommand{Job: flags.UsualJob()}
	cmd := &cobra.Command{
		Use:   "check MIX REFERENCE [REFERENCE...]",
		Short: "is the finished mix near enough, zone by zone",
		Long: `Compares a finished mix with references, or a profile of them. For each zone it
says how far the mix is over or under, and whether that is near enough, unusual,
off, or too close to call. The likely ranges hold in all zones at once (95 %). A
zone is off only when its whole range lies outside the tolerance. It is near
enough when the mix lies inside and half the range is at most the tolerance, and
unusual when nine songs in ten would still lie nearer in that zone: listen there.

The tolerance is how far one more song like the references may lie from their
mean: two songs by one maker usually differ by 3 to 6 dB. It is wide beside one
reference. Beside three it is a quarter narrower if they differ as one maker's
songs usually do, up to two fifths if they are alike, and wider if they differ
more. One finished song in seven is outside in some zone beside one reference,
one in ten beside several. Beside the mix's own song it is 2 dB.

The exit code is 0 if no zone is off, 1 if one is, and 2 if that could not be
found.`,
		Example: `  toneplumb check mix.wav one.flac two.flac three.flac
  toneplumb check mix.wav house.json --within 2 -o check.png
  toneplumb check mix.wav house.json --before "mix of monday.wav"`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) < 2 {
				return fail(finding.FilesNeeded, "toneplumb check MIX REFERENCE", "a mix and at least one reference are needed, %d given", len(args))
			}
			c.mix, c.references = args[0], args[1:]
			if err := c.parse(cmd); err != nil {
				return err
			}
			return c.run(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	c.output.AddFiles(cmd, "a chart .png, .svg or .pdf, the document .json, text .txt")
	c.output.AddChart(cmd)
	c.AddPlain(cmd)
	c.AddWithin(cmd)
	c.AddJudged(cmd)
	c.AddPrevious(cmd, "judge it without them")
	cmd.Flags().StringVar(&c.before, "before", "", "say what has moved since this earlier mix, `FILE`, and whether nearer")
	return cmd
}

func (c *checkCommand) parse(cmd *cobra.Command) error {
	if err := c.Job.Parse(cmd); err != nil {
		return err
	}
	inputs := slices.Concat([]string{c.mix, c.before, c.Already}, c.references)
	if err := flags.CheckPaths(c.output.Files, inputs, artefact.Check.Extensions(), c.output.Replace); err != nil {
		return err
	}
	if !c.Plain {
		c.output.Drawn = inputs
	}
	return c.output.Parse()
}

func (c *checkCommand) run(ctx context.Context, stdout, stderr io.Writer) error {
	if err := c.Read(); err != nil {
		return err
	}
	recordings := slices.Concat([]string{c.mix}, c.references)
	if c.before != "" {
		recordings = append(recordings, c.before)
	}
	reader, end := terminal.Reader(nil, stderr)
	defer end()
	inputs, err := reader.ReadAll(ctx, recordings...)
	if err != nil {
		return err
	}
	end()
	q := job.CheckRequest{Options: c.Options, References: job.References(inputs[1 : 1+len(c.references)]...)}
	if q.Mix, err = inputs[0].Mix(); err != nil {
		return err
	}
	if c.before != "" {
		if q.Before, err = inputs[len(inputs)-1].Mix(); err != nil {
			return err
		}
	}
	verdict, err := job.Check(ctx, q)
	if err != nil {
		return err
	}
	if err := flags.Deliver(ctx, &c.output, artefact.Check, verdict, stdout); err != nil {
		return err
	}
	if verdict.Verdict == match.Differs {
		return errOutside
	}
	return nil
}
