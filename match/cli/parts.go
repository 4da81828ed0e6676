package cli

import (
	"fmt"
	"math"

	"github.com/spf13/cobra"

	"toneplumb/match"
	"toneplumb/spectrum/audio"
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
	part, note, err := o.side(mix, "the mix", "--mix-part", o.mix)
	if err != nil {
		return nil, nil, nil, err
	}
	var parts []*measure.Recording
	notes := note
	for i, r := range references {
		p, note, err := o.side(r, match.ReferenceName(i, len(references)), "--ref-part", o.ref)
		if err != nil {
			return nil, nil, nil, err
		}
		parts, notes = append(parts, p), append(notes, note...)
	}
	return part, parts, notes, nil
}

// side returns one recording with only some passages counting.
func (o *partOptions) side(r *measure.Recording, who, option string, wanted measure.Passages) (*measure.Recording, []string, error) {
	given := wanted != nil
	switch {
	case given:
		var err error
		if wanted, err = within(r, option, wanted); err != nil {
			return nil, nil, err
		}
	case o.loudestSec == 0 || o.loudestSec >= r.DurationSec:
		return r, nil, nil
	default:
		wanted = r.Loudest(o.loudestSec)
	}
	part, err := r.Part(wanted)
	if err != nil {
		return nil, nil, err
	}
	together := ""
	if len(part.Counted) > 1 {
		together = fmt.Sprintf(" (%s together)", audio.Clock(part.Counted.Sec()+0.5))
	}
	if given {
		return part, []string{fmt.Sprintf("of %s only this part counts: %s%s", who, part.Counted, together)}, nil
	}
	return part, []string{fmt.Sprintf("of %s only the loudest part counts: %s%s", who, part.Counted, together)}, nil
}

// within refuses passages beyond a recording's end; the second that the end cuts
// short may be named whole.
func within(r *measure.Recording, option string, p measure.Passages) (measure.Passages, error) {
	var cut measure.Passages
	for _, s := range p {
		if s[0] >= r.DurationSec || s[1] > math.Ceil(r.DurationSec) {
			return nil, fail(fmt.Sprintf("choose passages that end by %s", audio.Clock(r.DurationSec)),
				"%s %s reaches beyond the end of %q, which lasts %s", option, p, r.Path, audio.Clock(r.DurationSec))
		}
		cut = append(cut, [2]float64{s[0], min(s[1], r.DurationSec)})
	}
	return cut, nil
}
