package job

import (
	"context"
	"slices"

	"toneplumb/match"
	"toneplumb/match/document"
	"toneplumb/match/listen"
	"toneplumb/match/page"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/multitrack"
)

// MatchRequest asks for the moves that take a mix to references.
type MatchRequest struct {
	Options
	Mix        Input
	References []*measure.Recording

	Confirm        bool   // whether to read the mix again with the moves applied, to confirm loudness and peaks
	Lead           string // path of a single track of the mix, to compute how the moves change it in the mix; "": none
	Sound          bool   // whether to return the excerpts for the player of a page
	ReferenceSound bool   // whether these include the reference
}

// MatchOutcome is the outcome of a [MatchRequest].
type MatchOutcome struct {
	*match.Result
	Previous *match.PreviousRound
	Sound    *page.Sound // nil if not requested
}

// Match carries out a [MatchRequest]. Recordings are opened with r. The error is an
// [*audio.Error] or ctx's.
func (r Reader) Match(ctx context.Context, q MatchRequest) (*MatchOutcome, error) {
	mix, err := q.Mix.Mix()
	if err != nil {
		return nil, err
	}
	out := &MatchOutcome{Previous: q.Previous}
	if out.Result, err = Interruptible(ctx, func() (*match.Result, error) {
		c, err := Compare(q.Options, mix, q.References)
		if err != nil {
			return nil, err
		}
		return c.Match(), nil
	}); err != nil {
		return nil, err
	}
	// A profile has no sound. A mix that was bounced with earlier moves, or another mix, is not
	// the one that these moves are for.
	if q.Confirm && len(out.Moves) > 0 && q.Previous == nil && q.Variant.Moves() == nil && !q.Mix.IsProfile {
		if _, err := r.Confirm(ctx, q.Mix.Path, out.Result); err != nil {
			return nil, err
		}
	}
	if q.Lead != "" && len(out.Moves) > 0 {
		lead, err := r.lead(ctx, q, out.Result)
		if err != nil {
			return nil, err
		}
		out.SetLead(lead)
	}
	if q.Sound {
		if out.Sound, err = r.Cut(ctx, out.Result, q.Previous, q.ReferenceSound); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// Confirm reads the mix a second time with the moves and the trim applied, and records its
// loudness and peaks in the result; see [listen.Confirm].
func (r Reader) Confirm(ctx context.Context, path string, result *match.Result) (match.Confirmed, error) {
	src, err := r.open(ctx, path)
	if err != nil {
		return match.Confirmed{}, err
	}
	defer src.Close()
	return listen.Confirm(ctx, src, result)
}

// lead reads a single track and the mix in step, and returns how the moves change the track
// in the mix.
func (r Reader) lead(ctx context.Context, q MatchRequest, result *match.Result) (match.Lead, error) {
	mix, err := Reader{Open: r.Open}.open(ctx, q.Mix.Path)
	if err != nil {
		return match.Lead{}, err
	}
	defer mix.Close()
	track, err := Reader{Watch: r.Watch}.open(ctx, q.Lead)
	if err != nil {
		return match.Lead{}, err
	}
	defer track.Close()
	inMix, err := multitrack.CoherentPower(ctx, track, mix, q.Lead)
	if err != nil {
		return match.Lead{}, err
	}
	for b, g := range q.Previous.Back(float64(mix.Format().RateHz)) {
		inMix[b] *= g
	}
	names := match.Naming{Plain: q.Plain}
	return match.Lead{Name: names.Name(measure.NameOf(q.Lead), "the single track"), ChangeLU: match.LeadLU(result.Mix, inMix, result.Settings())}, nil
}

// Cut returns the excerpts for the player of a page. That of the reference is included only
// if referenceSound is set, since its sound belongs to its makers.
func (r Reader) Cut(ctx context.Context, result *match.Result, previous *match.PreviousRound, referenceSound bool) (*page.Sound, error) {
	without := page.WithoutReference
	if referenceSound {
		without = ""
	}
	return page.Cut(ctx, func(of *measure.Recording) (audio.Source, error) { return r.open(ctx, of.Path) }, result, previous, without)
}

// CheckRequest asks for the verdict on a finished mix: whether it is near enough to its
// references.
type CheckRequest struct {
	Options
	Mix        *measure.Recording
	Before     *measure.Recording // an earlier mix; nil: none
	References []*measure.Recording
}

// Check carries out a [CheckRequest]. The error is an [*audio.Error] or ctx's.
func Check(ctx context.Context, q CheckRequest) (*match.Check, error) {
	names := &match.Naming{Plain: q.Plain}
	mix, before, references := names.Mix(q.Mix), q.Before, names.References(q.References)
	if before != nil {
		before = names.Before(before)
	}
	return Interruptible(ctx, func() (*match.Check, error) {
		now, then, err := judge(q.Options, mix, before, references)
		if err != nil {
			return nil, err
		}
		return now.Check(then), nil
	})
}

// NearestOutcome is a ranking of references by their distance from a mix.
type NearestOutcome struct {
	Mix      *measure.Recording
	Ranked   []match.RankedReference // the nearest first
	Warnings finding.List
}

// Nearest ranks references by their distance from a mix without the moves of o.Previous, over the
// parts that o.Parts chooses. It marks the mix itself among the references, and unusual references. The error
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
	named, err := o.Previous.Remove(names.Mix(table))
	if err != nil {
		return nil, err
	}
	all := References(references...)
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
		return &NearestOutcome{part, ranked, o.Previous.BeforeRanking().With(match.NearestFindings(ranked)...)}, nil
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

// Rendered is a recording that was sent through settings.
type Rendered struct {
	*listen.Plan
	Warnings []audio.Remark // about the file that was read
	Sound    *audio.Writer  // a file to put in place or to abort; nil: not requested
}

// Render sends a recording through settings. If goal is not empty it reads the recording once more
// and writes a WAV file there, in the depth that is wanted, nil for the recording's own. Errors are
// those of [listen.NewPlan] and [listen.Plan.Write].
func (r Reader) Render(ctx context.Context, path string, s *document.Settings, goal string, wanted *audio.Depth) (*Rendered, error) {
	out := &Rendered{}
	read := func(use func(audio.Source) error) error {
		src, err := r.open(ctx, path)
		if err != nil {
			return err
		}
		defer src.Close()
		return use(src)
	}
	err := read(func(src audio.Source) (err error) {
		out.Plan, err = listen.NewPlan(ctx, src, s, path, wanted)
		out.Warnings = src.Warnings()
		return err
	})
	if err != nil || goal == "" {
		return out, err
	}
	if out.Sound, err = out.Create(goal); err != nil {
		return nil, err
	}
	if err = read(func(src audio.Source) error { return out.Write(ctx, src, path, out.Sound) }); err != nil {
		out.Sound.Abort()
	}
	return out, err
}
