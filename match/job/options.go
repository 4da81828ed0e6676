package job

import (
	"context"

	"toneplumb/match"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// Options are all that a person can choose about a comparison.
type Options struct {
	Compare  match.CompareOptions
	Solve    match.SolveOptions // the equaliser among them
	Parts    match.Parts
	Previous *match.PreviousRound // what the mix runs through already; nil: nothing
	WithinDB float64              // the tolerance of a verdict; 0: by the rule of tolerances
	Plain    bool                 // no names of recordings in anything that is written
}

// DefaultOptions are those of match.
func DefaultOptions() Options {
	return Options{Compare: match.DefaultCompare(), Solve: match.DefaultSolve()}
}

// Comparison is a mix beside its references, with the options it was made by.
type Comparison struct {
	*match.Comparison
	options Options
	counted finding.List // which parts count
}

// Compare gives the recordings their names, takes the previous moves back, and compares what
// of both sides is to count. Tables are shared and not changed.
func Compare(o Options, mix *measure.Recording, references []*measure.Recording) (*Comparison, error) {
	names := &match.Naming{Plain: o.Plain}
	return CompareNamed(o, names.Mix(mix), names.References(references))
}

// CompareNamed is [Compare] for recordings that have their names.
func CompareNamed(o Options, mix *measure.Recording, references []*measure.Recording) (*Comparison, error) {
	mix, err := o.Previous.Remove(mix)
	if err != nil {
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
	return &Comparison{c, o, counted}, nil
}

// Moves finds the moves.
func (c *Comparison) Moves() *match.Result { return c.Noted(c.Solve(c.options.Solve)) }

// Match finds the moves, what another choice of stage would do, and how the sides stand.
func (c *Comparison) Match() *match.Result {
	r := c.Moves()
	r.SetOther()
	r.SetSides()
	return r
}

// Noted returns a copy of a result with what is to be said of the options. The result may be
// shared.
func (c *Comparison) Noted(r *match.Result) *match.Result {
	noted := *r
	noted.Warnings = c.options.Previous.Beside(r).With(r.Warnings...).With(c.counted...)
	return &noted
}

// Check gives the verdict, and, beside an earlier mix, says what has moved; nil is none.
func (c *Comparison) Check(before *Comparison) *match.Check {
	k := c.Verdict(c.options.WithinDB)
	k.SetSides()
	k.Warnings = c.options.Previous.Without(c.Comparison).With(k.Warnings...).With(c.counted...)
	if before != nil {
		k.SetBefore(before.Comparison)
	}
	return k
}

// Interruptible runs work that takes no context, and returns when it is done or the
// context is; in that case the work goes on unseen until the program ends.
func Interruptible[T any](ctx context.Context, work func() (T, error)) (T, error) {
	type outcome struct {
		value T
		err   error
	}
	done := make(chan outcome, 1)
	go func() {
		value, err := work()
		done <- outcome{value, err}
	}()
	select {
	case <-ctx.Done():
		var none T
		return none, ctx.Err()
	case o := <-done:
		return o.value, o.err
	}
}
