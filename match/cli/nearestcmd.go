package cli

import (
	"cmp"
	"context"
	"io"

	"github.com/spf13/cobra"

	"toneplumb/match/artefact"
	"toneplumb/match/cli/internal/flags"
	"toneplumb/match/cli/internal/terminal"
	"toneplumb/match/job"
	"toneplumb/spectrum/finding"
)

func newNearest() *cobra.Command {
	flags := flags.UsualJob()
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "nearest MIX REFERENCE...",
		Short: "which references suit this mix",
		Long: `Ranks references by how near they are to the mix in tone, width and loudness
range, and says which three to use together. A song twice as far in tone never
comes before. Of a profile every recording is ranked. A
reference that cannot be read stops no other; the exit code is then 2.`,
		Example: "  toneplumb nearest rough-mix.wav records/*.flac\n  toneplumb nearest rough-mix.wav house.json --json",
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) < 2 {
				return fail(finding.FilesNeeded, "toneplumb nearest MIX REFERENCE...", "a mix and at least one reference are needed, %d given", len(args))
			}
			if err := flags.Parse(cmd); err != nil {
				return err
			}
			return runNearest(cmd.Context(), flags.Options, args, asJSON, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	flags.AddPlain(cmd)
	flags.AddJudged(cmd)
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON document instead of text")
	return cmd
}

func runNearest(ctx context.Context, o job.Options, paths []string, asJSON bool, stdout, stderr io.Writer) error {
	reader, end := terminal.Reader(nil, stderr)
	defer end()
	inputs, errs := reader.ReadEach(ctx, paths...)
	end()
	if err := cmp.Or(ctx.Err(), errs[0]); err != nil {
		return err
	}
	if len(job.References(inputs[1:]...)) == 0 {
		return terminal.SummariseErrors(stderr, errs[1:])
	}
	found, err := job.Nearest(ctx, o, inputs[0], inputs[1:])
	if err != nil {
		return err
	}
	if err := flags.PrintOutcome(ctx, &flags.Output{JSON: asJSON}, artefact.Nearest, found, stdout); err != nil {
		return err
	}
	return terminal.SummariseErrors(stderr, errs[1:])
}
