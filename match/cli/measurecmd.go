package cli

import (
	"context"
	"io"

	"github.com/spf13/cobra"

	"toneplumb/match/cli/internal/terminal"
	"toneplumb/match/job"
	"toneplumb/match/report"
	"toneplumb/spectrum/finding"
)

func newMeasure() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "measure FILE [FILE...]",
		Short: "loudness, range, true peak and stereo width of recordings",
		Long: `Measures recordings and prints the loudness (ITU-R BS.1770-4), the loudness range
(EBU Tech 3342), the loudest moments, the true peak and how far it is above the
loudness. Then it prints how far mid is above side in each zone, and where a
low-pass ends the spectrum. "Lows lost in mono" is how much quieter all below
178 Hz gets when left and right are summed: two unrelated channels lose 3 dB,
so more means that they cancel. --json also has the level in each band. If a
file cannot be read, the others are still measured; the exit code is then 2.`,
		Example: "  toneplumb measure rough-mix.wav reference.flac\n  toneplumb measure song.mp3 --json",
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return fail(finding.FilesNeeded, "toneplumb measure FILE", "no recording was named")
			}
			return runMeasure(cmd.Context(), args, asJSON, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON document instead of text")
	return cmd
}

func runMeasure(ctx context.Context, paths []string, asJSON bool, stdout, stderr io.Writer) error {
	reader, end := terminal.Reader(nil, stderr)
	defer end()
	inputs, errs := reader.ReadEach(ctx, paths...)
	end()
	if err := ctx.Err(); err != nil {
		return err
	}
	if read := job.Recordings(inputs...); len(read) > 0 {
		write := report.Measured
		if asJSON {
			write = report.MeasuredJSON
		}
		if err := write(stdout, read); err != nil {
			return err
		}
	}
	return terminal.SummariseErrors(stderr, errs)
}
