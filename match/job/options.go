package job

import (
	"context"
	"slices"
	"sync"

	"toneplumb/match"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/parallel"
)

// Options holds everything that a user can choose about a comparison.
type Options struct {
	Compare  match.CompareOptions
	Solve    match.SolveOptions // including the equaliser
	Parts    match.Parts
	Previous *match.PreviousRound // moves that the mix was bounced with; nil: none
	Variant  match.Variant        // of a worksheet; 0: the mix as it is
	WithinDB float64              // the tolerance of a verdict in dB; 0: by the rule of tolerances
	Plain    bool                 // whether names of recordings are left out of anything that is written
}

// DefaultOptions returns the default options of package match.
func DefaultOptions() Options {
	return Options{Compare: match.DefaultCompare(), Solve: match.DefaultSolve()}
}

// Comparison is a comparison of a mix with its references, and the options it was made with.
type Comparison struct {
	*match.Comparison
	options Options
	counted finding.List // which parts are counted
}

// Compare gives the recordings their display names, removes the previous moves from the mix,
// and compares the chosen parts of both sides. Tables are shared and not changed. The error
// is an [*audio.Error].
func Compare(o Options, mix *measure.Recording, references []*measure.Recording) (*Comparison, error) {
	names := &match.Naming{Plain: o.Plain}
	return compareNamed(o, names.Mix(mix), names.References(references))
}

// compareNamed is [Compare] for recordings that have their display names already.
func compareNamed(o Options, mix *measure.Recording, references []*measure.Recording) (*Comparison, error) {
	mix, err := o.Previous.Remove(mix)
	if err != nil {
		return nil, err
	}
	if mix, err = o.Variant.Of(mix); err != nil {
		return nil, err
	}
	mix, references, counted, err := o.Parts.Apply(mix, references)
	if err != nil {
		return nil, err
	}
	c, err := match.Compare(mix, references, o.Compare)
	if err != nil {
		return nil, err
	}
	if n := len(counted); n > 0 && slices.Contains(c.SameSong, true) {
		part := counted[n-1].(match.PartCounts) // of Apply; said once
		part.SameSong = true
		counted[n-1] = part
	}
	return &Comparison{c, o, counted}, nil
}

// judge compares a mix, and an earlier one that was bounced without the previous moves. then is
// nil if before is.
func judge(o Options, mix, before *measure.Recording, references []*measure.Recording) (now, then *Comparison, err error) {
	if now, err = compareNamed(o, mix, references); err != nil || before == nil {
		return now, nil, err
	}
	o.Previous = nil
	then, err = compareNamed(o, before, references)
	return now, then, err
}

// Moves finds the moves, or returns those of the previous round if they hold.
func (c *Comparison) Moves() *match.Result {
	return c.Noted(c.options.Previous.Kept(c.Solve(c.options.Solve)))
}

// Match finds the moves, the moves for the other stages, and the stereo differences.
func (c *Comparison) Match() *match.Result {
	r := c.Moves()
	r.SetOthers()
	r.SetSides()
	return r
}

// Noted returns a copy of a result with the findings about the options added. The original
// is not changed.
func (c *Comparison) Noted(r *match.Result) *match.Result {
	noted := *r
	noted.Warnings = c.doubt().With(c.options.Previous.Beside(r)...).With(c.counted...)
	noted.Warnings = c.options.Variant.Findings().With(noted.Warnings...)
	return &noted
}

// doubt returns a finding if the mix shows no trace of the previous moves. A variant of a mix has
// other moves in it, so nothing can be told of one.
func (c *Comparison) doubt() finding.List {
	if c.options.Variant.Moves() != nil {
		return nil
	}
	return c.options.Previous.Doubt(c.Comparison)
}

// Check returns the verdict on the mix. If before, the comparison of an earlier mix, is not
// nil, the verdict also says what has changed since.
func (c *Comparison) Check(before *Comparison) *match.Check {
	k := c.Verdict(c.options.WithinDB)
	k.SetSides()
	k.Warnings = c.doubt().With(c.options.Previous.Without(c.Comparison)...).With(k.Warnings...).With(c.counted...)
	if before != nil {
		k.SetBefore(before.Comparison)
	}
	return k
}

type leftKey struct{}

// WithLeft returns a context for jobs whose caller must know when they have really ended: left
// counts the work that [Interruptible] leaves behind.
func WithLeft(ctx context.Context, left *sync.WaitGroup) context.Context {
	return context.WithValue(ctx, leftKey{}, left)
}

// Interruptible runs work that takes no context. It returns its result, or the context's
// error as soon as the context is done; work then continues in the background, see [WithLeft], and its
// result is dropped. It panics if work has panicked by then.
func Interruptible[T any](ctx context.Context, work func() (T, error)) (T, error) {
	type outcome struct {
		value    T
		err      error
		panicked *parallel.Panic
	}
	done := make(chan outcome, 1)
	left, _ := ctx.Value(leftKey{}).(*sync.WaitGroup)
	if left == nil {
		left = &sync.WaitGroup{}
	}
	left.Go(func() {
		var o outcome
		o.panicked = parallel.Caught(func() { o.value, o.err = work() })
		done <- o
	})
	select {
	case <-ctx.Done():
		var none T
		return none, ctx.Err()
	case o := <-done:
		o.panicked.Again()
		return o.value, o.err
	}
}
