package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"toneplumb/match"
	"toneplumb/spectrum/measure"
)

// partOptions say which passages of the two sides count; all if they say nothing.
type partOptions struct {
	mixText, refText, loudestText string

	mix, ref   measure.Passages
	loudestSec float64
}

func (o *partOptions) add(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringVar(&o.mixText, "mix-part", "", "count only these `PASSAGES` of the mix, such as 0:45-1:30;\nseveral with commas between")
	f.StringVar(&o.refText, "ref-part", "", "count only these `PASSAGES` of each reference")
	f.StringVar(&o.loudestText, "loudest", "", "count only the loudest passages, `SECONDS` together, of a side\nwhose part is not given")
}

// parse reads what was written.
func (o *partOptions) parse() error {
	for _, side := range []struct {
		option, text string
		to           *measure.Passages
	}{{"--mix-part", o.mixText, &o.mix}, {"--ref-part", o.refText, &o.ref}} {
		if side.text == "" {
			continue
		}
		p, err := parsePassages(side.text)
		if err != nil {
			return fail(fmt.Sprintf("write it as %s 0:45-1:30, several as %s 0:45-1:30,2:00-2:40", side.option, side.option), "%s: %s", side.option, err)
		}
		*side.to = p
	}
	if o.loudestText == "" {
		return nil
	}
	sec, err := parseTime(o.loudestText)
	if err != nil {
		return fail("write it in seconds, --loudest 60", "--loudest %q: %s", o.loudestText, err)
	}
	if sec < measure.MinSec {
		return fail("a minute is a good length, --loudest 60", "--loudest %q is too short: at least %d s are needed", o.loudestText, measure.MinSec)
	}
	o.loudestSec = sec
	return nil
}

// apply returns both sides with only the wanted passages counting, and says which.
func (o *partOptions) apply(mix *measure.Recording, references []*measure.Recording) (*measure.Recording, []*measure.Recording, []string, error) {
	return match.Parts{Mix: o.mix, Reference: o.ref, LoudestSec: o.loudestSec}.Apply(mix, references)
}
