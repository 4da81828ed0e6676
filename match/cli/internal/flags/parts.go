package flags

import (
	"fmt"

	"github.com/spf13/cobra"

	"toneplumb/match"
	"toneplumb/match/job"
	"toneplumb/spectrum/measure"
)

// parts are the flags that choose passages of the mix and the references; unset, all are used.
type parts struct{ mix, ref, loudest string }

func (o *parts) add(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringVar(&o.mix, "mix-part", "", "count only these `PARTS` of the mix, such as 0:45-1:30;\nseveral with commas between")
	f.StringVar(&o.ref, "ref-part", "", "count only these `PARTS` of each reference")
	f.StringVar(&o.loudest, "loudest", "", "count only the loudest parts, `SECONDS` in all, of a side\nwhose part is not given")
}

// parse parses the flags.
func (o *parts) parse() (match.Parts, error) {
	var parts match.Parts
	for _, side := range []struct {
		option, text string
		to           *measure.Passages
	}{{"--mix-part", o.mix, &parts.Mix}, {"--ref-part", o.ref, &parts.Reference}} {
		if side.text == "" {
			continue
		}
		p, err := ParsePassages(side.text)
		if err != nil {
			return parts, job.Fail(fmt.Sprintf("write it as %s 0:45-1:30, several as %s 0:45-1:30,2:00-2:40", side.option, side.option), "%s: %s", side.option, err)
		}
		*side.to = p
	}
	if o.loudest == "" {
		return parts, nil
	}
	sec, err := parseTime(o.loudest)
	if err != nil {
		return parts, job.Fail("write it in seconds, --loudest 60", "--loudest %q: %s", o.loudest, err)
	}
	if sec < measure.MinSec {
		return parts, job.Fail("a minute is a good length, --loudest 60", "--loudest %q is too short: at least %d s are needed", o.loudest, measure.MinSec)
	}
	parts.LoudestSec = sec
	return parts, nil
}
