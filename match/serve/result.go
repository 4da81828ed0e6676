package serve

import (
	"bytes"
	"encoding/json"
	"net/http"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/match"
	"toneplumb/match/page"
	"toneplumb/match/report"
)

// resultAnswer is what the page shows of a comparison.
type resultAnswer struct {
	Document json.RawMessage `json:"document"` // as match --json prints it
	Words    *page.Data      `json:"words"`    // as a saved page has them
	Chart    string          `json:"chart"`    // SVG, on the paper that was asked for
	Dials    []dials         `json:"dials"`    // what the equaliser can be set to
	Advised  []dialled       `json:"advised"`  // the moves as advised
	Rows     []row           `json:"rows"`     // beside the moves that are on: in their order of frequency

	// By hand: the distance with the moves as advised, to hold against that of Document;
	// null where nothing is set by hand.
	AdvisedDistance *report.Number `json:"advised_distance_db"`
	// AsBounced is the distance of a mix that was bounced through earlier moves.
	AsBounced *report.Number `json:"as_bounced_db"`

	Comparison string `json:"comparison"` // its id in the sitting
	Sound      bool   `json:"sound"`      // the mix has sound to play and to write
}

// row is what is known of a move that is on.
type row struct {
	FreqHz   report.Number `json:"freq_hz"` // of the filter
	Interval string        `json:"interval"`
	Q        report.Number `json:"q"`
	Width    string        `json:"width"`
	Reason   string        `json:"reason"`
}

// dials are what can be dialled of a shape.
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
	Step   float64   `json:"step"` // 0: anything between
	Values []float64 `json:"values"`
}

// result answers with what hangs on the fields of the page.
func (s *Server) result(w http.ResponseWriter, r *http.Request, a *ask) {
	s.book.pause()
	asked, own, err := s.book.results(a)
	if err != nil {
		answer(w, http.StatusUnprocessableEntity, troubleOf(err, ""))
		return
	}
	d := resultAnswer{Words: page.NewData(asked), Dials: dialsOf(a.solve.Equaliser), Advised: dialledOf(own), Sound: !a.mix.profile}
	var document bytes.Buffer
	if err = report.JSON(&document, asked); err == nil {
		d.Document = document.Bytes()
		d.Chart, err = page.Chart(asked, a.Dark)
	}
	if err != nil {
		answer(w, http.StatusInternalServerError, troubleOf(err, ""))
		return
	}
	d.Rows = []row{}
	for _, m := range asked.Moves {
		d.Rows = append(d.Rows, row{report.Number(m.FreqHz), report.Interval(m), report.Number(m.Q), report.Width(m), m.Reason})
	}
	if a.Dialled != nil {
		d.AdvisedDistance = report.Known(own.DistanceAfterDB)
	}
	if a.earlier != nil {
		d.AsBounced = report.Known(a.earlier.DistanceDB(own.Comparison, own.SolveOptions))
	}
	d.Comparison = s.sitting.note(a, asked, d.AsBounced)
	answer(w, http.StatusOK, d)
	s.book.lookAhead(s.ctx, a)
}

// dialledOf are a result's moves as they are dialled.
func dialledOf(r *match.Result) []dialled {
	all := []dialled{}
	for _, m := range r.Moves {
		all = append(all, dialled{Shape: m.Shape.String(), FreqHz: tidy(m.Dial.FreqHz), GainDB: tidy(m.Dial.GainDB), Width: tidy(m.Dial.Width), On: true})
	}
	return all
}

// tidy rounds what a dial shows as JSON has it.
func tidy(x float64) float64 {
	var v float64
	text, err := report.Number(x).MarshalJSON()
	if err != nil || json.Unmarshal(text, &v) != nil {
		return x
	}
	return v
}

func dialsOf(e fit.Equaliser) []dials {
	var all []dials
	for _, shape := range []biquad.Shape{biquad.LowShelf, biquad.Bell, biquad.HighShelf} {
		a := e.Ability(shape)
		if a.Count == 0 {
			continue
		}
		d := dials{Shape: shape.String(), Count: a.Count, FreqHz: fieldsOf(a.FreqHz), GainDB: fieldsOf(a.GainDB), Width: fieldsOf(a.Width)}
		d.FreqIs, d.WidthIs = match.DialWords(shape, a.Stated)
		all = append(all, d)
	}
	return all
}

func fieldsOf(d fit.Dial) dialFields { return dialFields{d.Min, d.Max, d.Step, d.Values} }
