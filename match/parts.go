package match

import (
	"fmt"
	"math"

	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// Parts say which passages of the two sides count; all if they say nothing.
type Parts struct {
	Mix, Reference measure.Passages // in order and apart from each other; nil: not given
	LoudestSec     float64          // of a side whose part is not given; 0: all of it
}

// Apply returns both sides with only the wanted passages counting, and says which. The
// error is an *audio.Error.
func (p Parts) Apply(mix *measure.Recording, references []*measure.Recording) (*measure.Recording, []*measure.Recording, []string, error) {
	part, notes, err := p.side(mix, "the mix", p.Mix)
	if err != nil {
		return nil, nil, nil, err
	}
	var parts []*measure.Recording
	var each []string
	var which []int // of the references, those with a note
	for i, r := range references {
		part, note, err := p.side(r, ReferenceName(i, len(references)), p.Reference)
		if err != nil {
			return nil, nil, nil, err
		}
		if parts = append(parts, part); note != nil {
			each, which = append(each, note...), append(which, i)
		}
	}
	if len(which) > mostNamed {
		each = []string{p.ofMany(someReferences(which, len(references)))}
	}
	return part, parts, append(notes, each...), nil
}

// ofMany is the note on references that are too many for one each.
func (p Parts) ofMany(who string) string {
	if p.Reference != nil {
		return fmt.Sprintf("of %s only this part counts: %s", who, p.Reference)
	}
	return fmt.Sprintf("of %s only the loudest parts count, %s of each", who, audio.Clock(p.LoudestSec))
}

// side returns one recording with only some passages counting.
func (p Parts) side(r *measure.Recording, who string, wanted measure.Passages) (*measure.Recording, []string, error) {
	which := "only this part"
	switch {
	case wanted != nil:
		var err error
		if wanted, err = within(r, wanted); err != nil {
			return nil, nil, err
		}
	case p.LoudestSec == 0 || p.LoudestSec >= r.DurationSec:
		return r, nil, nil
	default:
		which, wanted = "only the loudest part", r.Loudest(p.LoudestSec)
	}
	part, err := r.Part(wanted)
	if err != nil {
		return nil, nil, err
	}
	together := ""
	if len(part.Counted) > 1 {
		together = fmt.Sprintf(" (%s together)", audio.Clock(part.Counted.Sec()+0.5))
	}
	return part, []string{fmt.Sprintf("of %s %s counts: %s%s", who, which, part.Counted, together)}, nil
}

// within refuses passages beyond a recording's end; the second that the end cuts
// short may be named whole.
func within(r *measure.Recording, p measure.Passages) (measure.Passages, error) {
	var cut measure.Passages
	for _, s := range p {
		if s[0] >= r.DurationSec || s[1] > math.Ceil(r.DurationSec) {
			return nil, &audio.Error{Path: r.Path,
				Problem: fmt.Sprintf("lasts %s, and %s reaches beyond its end", audio.Clock(r.DurationSec), p),
				Hint:    fmt.Sprintf("choose passages that end by %s", audio.Clock(r.DurationSec))}
		}
		cut = append(cut, [2]float64{s[0], min(s[1], r.DurationSec)})
	}
	return cut, nil
}
