package job

import (
	"context"
	"slices"

	"toneplumb/match"
	"toneplumb/spectrum/measure"
)

// NearestOutcome ranks references by how near they are to a mix.
type NearestOutcome struct {
	Mix    *measure.Recording
	Ranked []match.RankedReference
}

// Nearest ranks references by how near they are to a mix, both as much as o's parts count.
func Nearest(ctx context.Context, o Options, mix Input, references []Input) (*NearestOutcome, error) {
	table, err := mix.Mix()
	if err != nil {
		return nil, err
	}
	isMix, err := mixAmong(ctx, mix, references)
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
		match.MarkItself(ranked, func(i int) bool { return isMix(all[i]) })
		match.MarkOdd(part, ranked, o.Compare)
		return &NearestOutcome{part, ranked}, nil
	})
}

// mixAmong returns what tells the mix among references: the same table, or in a profile,
// which holds a coarser one, the same SHA-256.
func mixAmong(ctx context.Context, mix Input, references []Input) (func(*measure.Recording) bool, error) {
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
	return func(r *measure.Recording) bool { return same[r] }, nil
}
