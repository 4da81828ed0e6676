package match

import (
	"fmt"
	"math"
	"slices"

	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// Parts say which passages of the two sides to use. The zero value uses everything.
type Parts struct {
	Mix, Reference measure.Passages // in order, without overlap; nil: not given
	LoudestSec     float64          // seconds to use of a side without passages; 0: all of it
}

// PartCounts says that only some passages of these sides are used.
type PartCounts struct {
	Sides    []Side
	Passages []measure.Passages // of each side
	Loudest  bool               // they are the loudest Sec seconds of each side
	Sec      float64
	SameSong bool // the mix's own song is among the references: of both only the same moments are compared
}

func (PartCounts) Code() string               { return "part-counts" }
func (PartCounts) Severity() finding.Severity { return finding.Info }

// Apply returns both sides restricted to the wanted passages, with findings that say which. It
// returns an [*audio.Error] if a passage is beyond a recording's end or holds no music.
func (p Parts) Apply(mix *measure.Recording, references []*measure.Recording) (*measure.Recording, []*measure.Recording, finding.List, error) {
	var all finding.List
	of := len(references)
	mixes, err := p.side([]*measure.Recording{mix}, p.Mix, func(int) Side { return Side{0, of} }, &all)
	if err != nil {
		return nil, nil, nil, err
	}
	parts, err := p.side(references, p.Reference, func(i int) Side { return Side{i + 1, of} }, &all)
	if err != nil {
		return nil, nil, nil, err
	}
	return mixes[0], parts, all, nil
}

// side restricts the recordings of one side and adds a finding to all if it did.
func (p Parts) side(recordings []*measure.Recording, wanted measure.Passages, name func(i int) Side, all *finding.List) ([]*measure.Recording, error) {
	found := PartCounts{Loudest: wanted == nil, Sec: p.LoudestSec}
	var parts []*measure.Recording
	for i, r := range recordings {
		own := wanted
		switch {
		case wanted != nil:
			var err error
			if own, err = within(r, wanted); err != nil {
				return nil, err
			}
		case p.LoudestSec == 0 || p.LoudestSec >= r.DurationSec:
			parts = append(parts, r)
			continue
		default:
			own = r.Loudest(p.LoudestSec)
		}
		part, err := r.Part(own)
		if err != nil {
			return nil, err
		}
		parts = append(parts, part)
		found.Sides, found.Passages = append(found.Sides, name(i)), append(found.Passages, part.Counted)
	}
	if found.Sides != nil {
		*all = append(*all, found)
	}
	return parts, nil
}

// within returns the passages, the last cut at the recording's end. It refuses passages beyond
// the end, but the end may be given rounded up to the second.
func within(r *measure.Recording, p measure.Passages) (measure.Passages, error) {
	var cut measure.Passages
	for _, s := range p {
		if s[0] >= r.DurationSec || s[1] > math.Ceil(r.DurationSec) {
			return nil, &audio.Error{Kind: finding.BeyondEnd, Path: r.Path,
				Problem: fmt.Sprintf("lasts %s, and %s reaches beyond its end", audio.Clock(r.DurationSec), p),
				Hint:    fmt.Sprintf("choose a part that ends by %s", audio.Clock(r.DurationSec))}
		}
		cut = append(cut, [2]float64{s[0], min(s[1], r.DurationSec)})
	}
	return cut, nil
}

// Used returns the passages of a side that are compared: 0 is the mix, 1 the first reference. Of
// the mix's own song they are the moments that count in both recordings, so a part that was asked
// for on one side narrows the other too. In the mix they are the moments that any reference is compared with.
func (c *Comparison) Used(side int) measure.Passages {
	if side > 0 {
		_, ofReference := c.usedBeside(c.References[side-1])
		return ofReference
	}
	var all measure.Passages
	for _, ref := range c.References {
		ofMix, _ := c.usedBeside(ref)
		all = append(all, ofMix...)
	}
	slices.SortFunc(all, func(a, b [2]float64) int { return slices.Compare(a[:], b[:]) })
	var joined measure.Passages
	for _, s := range all {
		joined = joined.Extended(s[0], s[1])
	}
	return joined
}

// usedBeside returns the passages of the mix and a reference that are compared with one another.
func (c *Comparison) usedBeside(ref *measure.Recording) (ofMix, ofReference measure.Passages) {
	mix, own := countedOf(c.Mix), countedOf(ref)
	i := slices.IndexFunc(c.compared, func(p pair) bool { return p.of == ref })
	if i < 0 || !c.compared[i].copied.Same {
		return mix, own
	}
	lag := c.compared[i].copied.LagSec
	for _, m := range mix {
		for _, r := range own {
			if from, to := max(m[0], r[0]+lag), min(m[1], r[1]+lag); from < to {
				ofMix = append(ofMix, [2]float64{from, to})
				ofReference = append(ofReference, [2]float64{from - lag, to - lag})
			}
		}
	}
	if ofMix == nil { // parts of a second that only share that second
		return mix, own
	}
	return ofMix, ofReference
}

// countedOf returns the passages of a recording that count, all of it as one.
func countedOf(r *measure.Recording) measure.Passages {
	if r.Counted == nil {
		return measure.Passages{{0, r.DurationSec}}
	}
	return r.Counted
}
