package cli

import (
	"github.com/spf13/cobra"

	"toneplumb/match"
)

// stageOptions say how far off a mix may be.
type stageOptions struct {
	name       string
	asMeasured bool
}

// add gives a command its flags.
func (o *stageOptions) add(cmd *cobra.Command, usual match.Stage) {
	o.name = usual.String()
	f := cmd.Flags()
	f.StringVar(&o.name, "stage", o.name, "how far off the mix may be: `STAGE` rough (2 to 6 dB) or finished (under 2 dB)")
	f.BoolVar(&o.asMeasured, "as-measured", false, "follow the reference's balance as it is, arrangement and all")
	cmd.MarkFlagsMutuallyExclusive("stage", "as-measured")
}

// parse reads and checks them.
func (o *stageOptions) parse() (match.Stage, error) {
	if o.asMeasured {
		return match.AsMeasured, nil
	}
	stage, err := match.ParseStage(o.name)
	if err != nil || stage == match.AsMeasured {
		return 0, fail("write --stage rough or --stage finished", "there is no stage %q", o.name)
	}
	return stage, nil
}
