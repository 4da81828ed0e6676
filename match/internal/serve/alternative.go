package serve

import (
	"context"

	"toneplumb/match"
	"toneplumb/match/report"
)

// alternativeAnswer is the findings about the moves, together with what another choice of stage
// (rough, finished or as measured) would do.
type alternativeAnswer struct {
	Findings []string `json:"findings"`
	Other    string   `json:"other"` // what the other choice would do; "" if it makes no difference
}

// alternative computes what the other choice of stage would do. It takes as long as the moves did,
// so the page requests it after it has shown them.
func (s *Server) alternative(ctx context.Context, a *request) (any, error) {
	f, err := s.results.findWhole(ctx, a)
	if err != nil {
		return nil, err
	}
	return alternativeAnswer{report.Sentences(f.Result), report.OtherChoice(f.Result)}, nil
}

func (a *request) alternativeKey() string { return keyOf(a.adviceKey(), a.options.Solve.MaxMoves) }

// findWhole is find with everything the command line reports: the other choice of stage, and the
// zones in which side and mid differ.
func (rc *resultCache) findWhole(ctx context.Context, a *request) (*found, error) {
	f, err := rc.find(ctx, a)
	if err != nil || f.Other != nil {
		return f, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	f.SetOther()
	f.SetSides()
	rc.lock.Lock()
	defer rc.lock.Unlock()
	rc.alternatives.put(a.alternativeKey(), alternative{f.Other, f.Sides})
	return f, nil
}

// alternative is what findWhole adds to a result. It does not depend on moves set by hand.
type alternative struct {
	other *match.Alternative
	sides []match.SideVerdict
}
