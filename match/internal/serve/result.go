package serve

import (
	"bytes"
	"context"
	"encoding/json"
	"slices"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/match"
	"toneplumb/match/document"
	"toneplumb/match/page"
	"toneplumb/match/report"
	"toneplumb/match/words"
	"toneplumb/spectrum/finding"
)

// resultAnswer is what the page shows about a comparison.
type resultAnswer struct {
	// Waiting reports whether the moves are the previous ones, because the advice is not ready.
	Waiting bool `json:"waiting"`

	Words    *page.Data      `json:"words"`    // as on a saved page
	Headline string          `json:"headline"` // what to do, in one line
	Curves   *page.Curves    `json:"curves"`   // for the chart
	Dials    []dials         `json:"dials"`    // the equaliser's ranges
	Advised  []dialled       `json:"advised"`  // the moves as advised; null while waiting
	Rows     []row           `json:"rows"`     // for the moves that are on, in order of frequency
	Settings json.RawMessage `json:"settings"` // the document, to be sent back as `already`
	Before   report.Number   `json:"distance_before_db"`
	After    report.Number   `json:"distance_after_db"`

	// AdvisedAfter is the distance with the moves as advised, if some are set by hand.
	AdvisedAfter *report.Number `json:"advised_distance_db"`
	// AsBounced is the distance of the bounce itself, if it ran through earlier moves.
	AsBounced *report.Number `json:"as_bounced_db"`

	Confirmed  *confirmedAnswer `json:"confirmed"`  // null: not yet measured
	Comparison string           `json:"comparison"` // its id in the history; "": it is not there
	Sound      bool             `json:"sound"`      // the mix can be sent through the moves
}

// row is the details of a move that is on.
type row struct {
	Of       int           `json:"of"` // index among the dialled moves
	GainDB   report.Number `json:"gain_db"`
	Interval string        `json:"interval"`
	Q        report.Number `json:"q"`
	Width    string        `json:"width"`
	Reason   string        `json:"reason"`
	Outside  bool          `json:"outside"` // the gain is outside the interval
}

// dials are the equaliser's ranges for a shape.
type dials struct {
	Shape   string     `json:"shape"`
	Count   int        `json:"count"`
	FreqHz  dialFields `json:"freq_hz"`
	GainDB  dialFields `json:"gain_db"`
	Width   dialFields `json:"width"`
	FreqIs  string     `json:"freq_is"`
	WidthIs string     `json:"width_is"`
}

type dialFields struct {
	Min    float64   `json:"min"`
	Max    float64   `json:"max"`
	Step   float64   `json:"step"` // 0: continuous
	Values []float64 `json:"values"`
}

// result answers with everything that depends on the fields of the page, and notes the comparison.
func (s *Server) result(ctx context.Context, a *request) (any, error) {
	d, f, err := s.answer(ctx, a)
	if err != nil {
		return nil, err
	}
	if !d.Waiting {
		d.Comparison = s.history.note(a, f.Result, d.AsBounced)
	}
	return d, nil
}

// answer returns the answer to a request, without the comparison's id, and what it was found in.
func (s *Server) answer(ctx context.Context, a *request) (*resultAnswer, *found, error) {
	f, err := s.results.find(ctx, a)
	if err != nil {
		return nil, nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, nil, err
	}
	var kept bytes.Buffer
	if err := report.Settings(&kept, f.Result); err != nil {
		return nil, nil, err
	}
	d := &resultAnswer{
		Waiting: f.own == nil, Headline: report.Headline(f.Result), Curves: page.NewCurves(f.Result), Words: page.NewData(f.Result), Dials: dialsOf(a.options.Solve.Dials()), Rows: []row{}, Settings: kept.Bytes(),
		Before: report.Number(f.DistanceBeforeDB), After: report.Number(f.DistanceAfterDB), Sound: a.hasSound() == nil,
	}
	d.Words.Warnings = report.Remarks(byRow(f.Warnings, f.of))
	for i, m := range f.Moves {
		m.ByHand = false // the row has its mark
		d.Rows = append(d.Rows, row{f.of[i], report.Number(m.GainDB), report.Interval(m), report.Number(m.Q), report.Width(m), words.Why(m), m.OutsideRange()})
	}
	if f.own != nil {
		d.Advised = dialledOf(f.own)
		if f.byHand {
			d.AdvisedAfter = report.Known(f.own.DistanceAfterDB)
		}
	}
	if a.options.Previous != nil {
		d.AsBounced = report.Known(a.options.Previous.DistanceDB(f.Comparison, a.options.Solve))
	}
	if f.Confirmed != nil {
		d.Confirmed = confirmedOf(f.Confirmed)
	}
	return d, f, nil
}

// byRow returns findings with moves numbered like the page's rows, which include moves that are off.
func byRow(all finding.List, of []int) finding.List {
	rows := func(moves []int) []int {
		var numbers []int
		for _, n := range moves {
			numbers = append(numbers, of[n-1]+1)
		}
		slices.Sort(numbers)
		return numbers
	}
	var numbered finding.List
	for _, finding := range all {
		switch f := finding.(type) {
		case match.LargeMoves:
			finding = match.LargeMoves{Moves: rows(f.Moves)}
		case match.VoiceMoves:
			finding = match.VoiceMoves{Moves: rows(f.Moves)}
		case match.TopMoves:
			finding = match.TopMoves{Moves: rows(f.Moves)}
		}
		numbered = append(numbered, finding)
	}
	return numbered
}

// dialledOf returns a result's moves as dialled.
func dialledOf(r *match.Result) []dialled {
	all := []dialled{}
	for _, m := range r.Moves {
		all = append(all, dialled{Shape: m.Shape.String(), FreqHz: report.Number(m.Dial.FreqHz), GainDB: report.Number(m.Dial.GainDB), Width: report.Number(m.Dial.Width), On: true})
	}
	return all
}

func dialsOf(e fit.Equaliser) []dials {
	var all []dials
	for _, shape := range biquad.GainShapes {
		a := e.Limits(shape)
		if a.Count == 0 {
			continue
		}
		d := dials{Shape: shape.String(), Count: a.Count, FreqHz: dialFields(a.FreqHz), GainDB: dialFields(a.GainDB), Width: dialFields(a.Width)}
		d.FreqIs, d.WidthIs = document.DialWords(shape, a.Terms)
		all = append(all, d)
	}
	return all
}
