package serve

import (
	"context"
	"encoding/json"
	"strings"
	"sync"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/job"
	"toneplumb/match/report"
)

// resultCache keeps results, so that a changed field recomputes only what depends on it. The
// comparison depends on recordings, parts, range and smoothing; the moves also depend on the
// equaliser and on how far to go.
type resultCache struct {
	comparisons  cache[func() (*job.Comparison, error)] // which compare at the first call
	advices      cache[*advised]
	confirmed    cache[match.Confirmed] // by mix and settings
	alternatives cache[alternative]
}

// advised is the advice for a comparison.
type advised struct {
	lock    sync.Mutex // Advice is for one goroutine at a time
	advice  *match.Advice
	results map[int]*match.Result // by largest number of moves
}

// keyOf returns a key that differs if any part differs.
func keyOf(parts ...any) string {
	text, err := json.Marshal(parts)
	if err != nil {
		panic("serve: a key that is no JSON: " + err.Error())
	}
	return string(text)
}

func (a *request) comparisonKey() string {
	return keyOf(a.Mix, a.References, a.options.Compare, a.options.Parts, a.Already, a.Plain)
}

func (a *request) adviceKey() string {
	return keyOf(a.comparisonKey(), a.options.Solve, a.options.Solve.Stage, a.Equaliser) // what has no name in JSON stands apart
}

// comparison returns the comparison for a request, computed at the first call.
func (rc *resultCache) comparison(a *request) (*job.Comparison, error) {
	compare := rc.comparisons.getOrMake(a.comparisonKey(), func() func() (*job.Comparison, error) { return sync.OnceValues(a.compareNow) })
	return compare()
}

func (a *request) compareNow() (*job.Comparison, error) {
	mix, err := a.mix.oneOf()
	if err != nil {
		return nil, err
	}
	return job.Compare(a.options, mix, job.References(inputsOf(a.references)...))
}

// advised returns the advice for a request; see its result.
func (rc *resultCache) advised(a *request) (*advised, error) {
	c, err := rc.comparison(a)
	if err != nil {
		return nil, err
	}
	return rc.advices.getOrMake(a.adviceKey(), func() *advised {
		return &advised{advice: c.Advise(a.options.Solve), results: map[int]*match.Result{}}
	}), nil
}

// result returns the advice with at most this number of moves. Results are shared: copy them before
// changing anything.
func (d *advised) result(moves int) *match.Result {
	d.lock.Lock()
	defer d.lock.Unlock()
	if d.results[moves] == nil {
		d.results[moves] = d.advice.Result(moves)
	}
	return d.results[moves]
}

// found is the result for a request.
type found struct {
	*match.Result       // a copy, with the request's warnings
	of            []int // index of each move among the dialled ones
	byHand        bool
	own           *match.Result // as advised; nil: not computed yet
}

// find computes the result for a request. Between its steps, each some tenths of a second long, it
// stops if the context is done.
func (rc *resultCache) find(ctx context.Context, a *request) (*found, error) {
	f := &found{byHand: a.Dialled != nil}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	c, err := rc.comparison(a)
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	set := a.Dialled
	if a.Meanwhile == nil || rc.isKnown(a) {
		d, err := rc.advised(a)
		if err != nil {
			return nil, err
		}
		f.own = a.options.Previous.Kept(d.result(a.options.Solve.MaxMoves))
	} else if !f.byHand {
		set = a.Meanwhile
	}
	asked := f.own
	if set != nil {
		moves, err := a.filters(set, c.RateHz)
		if err != nil {
			return nil, err
		}
		var filters []biquad.Filter
		for _, m := range moves {
			filters, f.of = append(filters, m.Filter), append(f.of, m.of)
		}
		asked = c.With(filters, a.options.Solve)
	} else {
		for i := range asked.Moves {
			f.of = append(f.of, i)
		}
	}
	copied := c.Noted(asked)
	f.Result = copied
	if f.byHand {
		copied.Own = true
		for i := range copied.Moves { // of With, so they are this result's own
			copied.Moves[i].ByHand = set[f.of[i]].Hand
		}
	}
	if known, is := rc.confirmed.get(a.confirmKey(copied)); is && a.options.Previous == nil {
		copied.Confirm(known)
	}
	if known, is := rc.alternatives.get(a.alternativeKey()); is {
		copied.Others, copied.Sides = known.others, known.sides
	}
	return f, nil
}

// isKnown reports whether the advice has been computed.
func (rc *resultCache) isKnown(a *request) bool {
	d, is := rc.advices.get(a.adviceKey())
	if !is || !d.lock.TryLock() { // locked: it is being computed
		return false
	}
	defer d.lock.Unlock()
	return d.results[a.options.Solve.MaxMoves] != nil
}

func (a *request) confirmKey(r *match.Result) string { return keyOf(a.Mix, r.Settings()) }

// forget drops everything that depends on a recording.
func (rc *resultCache) forget(id string) {
	rc.comparisons.forget(func(key string, _ func() (*job.Comparison, error)) bool { return strings.Contains(key, id) })
	rc.advices.forget(func(key string, _ *advised) bool { return strings.Contains(key, id) })
	rc.confirmed.forget(func(key string, _ match.Confirmed) bool { return strings.Contains(key, id) })
	rc.alternatives.forget(func(key string, _ alternative) bool { return strings.Contains(key, id) })
}

// alternativeAnswer is the findings about the moves, together with what the other choices of stage
// (rough, finished or as measured) would do.
type alternativeAnswer struct {
	Findings []string `json:"findings"`
	Other    string   `json:"other"` // what the other choices would do; "" if they make no difference
}

// alternative computes what the other choices of stage would do. It takes longer than the moves did,
// so the page requests it after it has shown them.
func (s *Server) alternative(ctx context.Context, a *request) (any, error) {
	f, err := s.results.findWhole(ctx, a)
	if err != nil {
		return nil, err
	}
	return alternativeAnswer{report.Sentences(f.Result), report.OtherChoices(f.Result)}, nil
}

func (a *request) alternativeKey() string { return keyOf(a.adviceKey(), a.options.Solve.MaxMoves) }

// findWhole is find with everything the command line reports: the other choices of stage, and the
// zones in which side and mid differ.
func (rc *resultCache) findWhole(ctx context.Context, a *request) (*found, error) {
	f, err := rc.find(ctx, a)
	if err != nil || f.Others != nil {
		return f, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	f.SetOthers()
	f.SetSides()
	rc.alternatives.put(a.alternativeKey(), alternative{f.Others, f.Sides})
	return f, nil
}

// alternative is what findWhole adds to a result. It does not depend on moves set by hand.
type alternative struct {
	others []match.Alternative
	sides  []match.SideVerdict
}
