package cli

import (
	"cmp"
	"context"
	"io"
	"slices"

	"github.com/spf13/cobra"

	"toneplumb/match"
	"toneplumb/match/report"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

func newNearest() *cobra.Command {
	var asJSON, plain bool
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
				return fail("toneplumb nearest MIX REFERENCE...", "a mix and at least one reference are needed, %d given", len(args))
			}
			return runNearest(cmd.Context(), args, asJSON, plain, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	addPlain(cmd, &plain)
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON document instead of text")
	return cmd
}

func runNearest(ctx context.Context, paths []string, asJSON, plain bool, stdout, stderr io.Writer) error {
	inputs, errs := readEach(ctx, audio.Open, paths, stderr, func() {})
	if err := cmp.Or(ctx.Err(), errs[0]); err != nil {
		return err
	}
	mix, err := inputs[0].asMix()
	if err != nil {
		return err
	}
	names := &match.Naming{Plain: plain}
	mix = names.Mix(mix)
	read := asReferences(inputs[1:])
	references := names.References(read)
	if len(references) == 0 {
		return unread(stderr, errs[1:])
	}
	ranked, err := interruptible(ctx, func() ([]match.Neighbour, error) {
		return match.Nearest(mix, references, match.DefaultCompare())
	})
	if err != nil {
		return err
	}
	isMix, err := mixAmong(ctx, inputs[0], inputs[1:])
	if err != nil {
		return err
	}
	match.MarkItself(ranked, func(i int) bool { return isMix(read[i]) })
	match.MarkOdd(mix, ranked, match.DefaultCompare())
	if asJSON {
		err = report.NearestJSON(stdout, mix, ranked)
	} else {
		err = report.Nearest(stdout, mix, ranked)
	}
	if err != nil {
		return err
	}
	return unread(stderr, errs[1:])
}

// mixAmong returns what tells the mix among references: the same table, or in a profile,
// which holds a coarser one, the same SHA-256.
func mixAmong(ctx context.Context, mix input, references []input) (func(*measure.Recording) bool, error) {
	sum := mix.entries[0].SHA256
	if fromProfile := slices.ContainsFunc(references, func(in input) bool { return in.profile }); sum == "" && fromProfile {
		var err error
		if sum, err = sumOf(ctx, mix.path); err != nil {
			return nil, err
		}
	}
	same := map[*measure.Recording]bool{}
	for _, in := range references {
		for _, e := range in.entries {
			same[e.Recording] = sum != "" && e.SHA256 == sum || slices.Equal(e.Recording.Power, mix.entries[0].Recording.Power)
		}
	}
	return func(r *measure.Recording) bool { return same[r] }, nil
}
