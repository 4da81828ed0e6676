package job

import (
	"context"
	"slices"

	"toneplumb/match"
	"toneplumb/spectrum/measure"
)

// NearestOutcome is a ranking of references by their distance from a mix.
type NearestOutcome struct {
	Mix    *measure.Recording
	Ranked []match.RankedReference // the nearest first
}

// Nearest ranks references by their distance from a mix, over the parts that o.Parts
// chooses. It marks the mix itself among the references, and unusual references. The error
// is ctx's, or an [*audio.Error].
func Nearest(ctx context.Context, o Options, mix Input, references []Input) (*NearestOutcome, error) {
	table, err := mix.Mix()
	if err != nil {
		return nil, err
	}
	same, err := mixAmong(ctx, mix, references)
	if err != nil {
		return nil, err
	}
	names := &match.Naming{Plain: o.Plain}
	named, all := names.Mix(table), References(references...)
	part, parts, _, err := o.Parts.Apply(named, names.References(all))
	if err != nil {
		return nil, err
	}
	return Interruptible(ctx, func() (*NearestOutcome, error) {
		ranked, err := match.Nearest(part, parts, o.Compare)
		if err != nil {
			return nil, err
		}
		match.MarkItself(ranked, func(i int) bool { return same[all[i]] })
		match.MarkOdd(part, ranked, o.Compare)
		return &NearestOutcome{part, ranked}, nil
	})
}

// mixAmong says which references are the mix itself: they have the same table or, in a profile,
// whose table is coarser, the same SHA-256.
func mixAmong(ctx context.Context, mix Input, references []Input) (map[*measure.Recording]bool, error) {
	sum := mix.Entries[0].SHA256
	if slices.ContainsFunc(references, func(in Input) bool { return in.IsProfile }) {
		var err error
		if sum, err = mix.SHA256(ctx); err != nil {
			return nil, err
		}
	}
	same := map[*measure.Recording]bool{}
	for _, in := range references {
		for _, e := range in.Entries {
			same[e.Recording] = sum != "" && e.SHA256 == sum || slices.Equal(e.Recording.Power, mix.Entries[0].Recording.Power)
		}
	}
	return same, nil
}
