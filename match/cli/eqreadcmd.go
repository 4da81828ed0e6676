package cli

import (
	"context"
	"io"

	"github.com/spf13/cobra"

	"toneplumb/match/cli/internal/files"
	"toneplumb/match/cli/internal/flags"
	"toneplumb/match/job"
	"toneplumb/match/probe"
	"toneplumb/match/probe/forms"
	"toneplumb/spectrum/finding"
)

type eqreadOptions struct {
	stdin     io.Reader
	inputs    []string
	outputs   []string
	dialled   string
	equaliser string
	settings  string
	replace   bool
	json      bool
}

func newEqread() *cobra.Command {
	var o eqreadOptions
	cmd := &cobra.Command{
		Use:   "eqread PROBE PRINT...",
		Short: "learn an equaliser from printed probes, or check moves that were dialled",
		Long: `Reads the probe of eqtest and its prints through your equaliser. It says what the
dials stand for and how far the equaliser is from the Audio EQ Cookbook, and writes
the description that --eq takes.

With --settings it reads a mix before and after the equaliser instead, and says
for each move what was asked and what the music got.`,
		Example: `  toneplumb eqread probe.wav print-*.wav -o myeq.json
  toneplumb eqread mix.wav mix-through-eq.wav --settings settings.json -o got.png`,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.inputs, o.stdin = args, cmd.InOrStdin()
			if o.settings != "" {
				return runThrough(cmd.Context(), o, cmd.OutOrStdout())
			}
			return runEqread(cmd.Context(), o, cmd.OutOrStdout())
		},
	}
	f := cmd.Flags()
	f.StringArrayVarP(&o.outputs, "output", "o", nil, "write `FILE`: the description .json; with --settings a chart .png or .svg,\nthe numbers .json")
	f.StringVar(&o.dialled, "dialled", "", "what was dialled, a table in `FILE` (.csv) as eqtest writes it;\nthe list of eqtest if not given")
	f.StringVar(&o.equaliser, "eq", "", "take frequencies, gains and counts from the description in `FILE` (.json)")
	f.StringVar(&o.settings, "settings", "", "compare a mix before and after with the moves in `FILE` (.json)")
	flags.AddReplace(cmd, &o.replace)
	f.BoolVar(&o.json, "json", false, "print one JSON document instead of text")
	return cmd
}

func runEqread(ctx context.Context, o eqreadOptions, stdout io.Writer) error {
	if len(o.inputs) < 2 {
		return fail(finding.FilesNeeded, "toneplumb eqread probe.wav print-*.wav -o myeq.json", "a probe and at least one print of it are needed, %d given", len(o.inputs))
	}
	all := append([]string{o.dialled, o.equaliser}, o.inputs...)
	description := ""
	for _, path := range o.outputs {
		if files.Extension(path) != ".json" || description != "" {
			return fail(finding.UnknownExtension, "name one file that ends in .json", "output %q: only the description is written", path)
		}
		if err := flags.Writable(path, all, o.replace); err != nil {
			return err
		}
		description = path
	}
	base, err := job.ReadEqualiser(o.equaliser, o.stdin)
	if err != nil {
		return err
	}
	q := job.LearnRequest{Prints: o.inputs[1:], Base: base}
	if q.Plan, err = o.plan(); err != nil {
		return err
	}
	if q.Probe, err = job.ReadProbe(ctx, o.inputs[0]); err != nil {
		return err
	}
	e, err := job.Learn(ctx, q)
	if err != nil {
		return err
	}
	if description != "" {
		if err := files.Put(ctx, o.replace, []files.File{{Path: description, Write: e.WriteDescription}}); err != nil {
			return err
		}
	}
	if o.json {
		return forms.JSON(stdout, e.Equaliser)
	}
	return forms.Text(stdout, e.Equaliser, description)
}

// plan returns the settings that were dialled.
func (o eqreadOptions) plan() ([]probe.Setting, error) {
	if o.dialled == "" {
		return probe.Plan(), nil
	}
	return job.ReadDocument(o.dialled, o.stdin, finding.SheetWrong, "eqtest -o prints.csv writes a table to start from", probe.ReadPlan)
}
