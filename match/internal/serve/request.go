package serve

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"slices"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/document"
	"toneplumb/match/job"
	"toneplumb/match/report"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// request is a request of the page: which recordings, how to compare them, and which moves.
// Recordings are given by id. The fields mean the same as match's options with these names.
type request struct {
	Mix        string   `json:"mix"`
	References []string `json:"references"`

	SmoothOct  float64      `json:"smooth_oct"`
	RangeHz    [2]float64   `json:"range_hz"`
	Stage      string       `json:"stage"` // "": rough
	MaxMoves   int          `json:"max_moves"`
	MixPart    [][2]float64 `json:"mix_part"` // in seconds; null: all
	RefPart    [][2]float64 `json:"ref_part"`
	LoudestSec float64      `json:"loudest_s"` // 0: all

	match.SolveOptions // its numbers

	Equaliser     json.RawMessage `json:"equaliser"`      // a document as for --eq; null: the default
	EqualiserName string          `json:"equaliser_name"` // for display
	Already       json.RawMessage `json:"already"`        // settings the mix was bounced through; null: none
	Dialled       []dialled       `json:"dialled"`        // moves set by hand; null: those advised
	From          json.RawMessage `json:"from"`           // settings whose moves are to be converted to dials; null: none
	Plain         bool            `json:"plain"`          // leave names of recordings out of downloads

	// Meanwhile are moves to answer with at once if the advised ones are not computed yet; null:
	// wait for them.
	Meanwhile []dialled `json:"meanwhile,omitempty"`

	After string `json:"after"` // id in the history: the comparison of whose mix this is a new bounce

	// Where the excerpts start in the mix and the reference; null: at the loudest place.
	HearMixSec *float64 `json:"hear_mix_s"`
	HearRefSec *float64 `json:"hear_ref_s"`

	mix        *recording
	references []*recording
	options    job.Options
}

// dialled is a move in the terms of the equaliser's dials.
type dialled struct {
	Shape  string        `json:"shape"`
	FreqHz report.Number `json:"freq_hz"`
	GainDB report.Number `json:"gain_db"`
	Width  report.Number `json:"width"`
	On     bool          `json:"on"`
	Hand   bool          `json:"hand,omitempty"` // set by hand; used only by the page
}

// maxRequestBytes bounds a request. Our choice: settings and the largest description of an
// equaliser are under 200 kB.
const maxRequestBytes = 1 << 20

// decodeRequest reads and checks a request and passes it on.
func (s *Server) decodeRequest(next func(http.ResponseWriter, *http.Request, *request) error) handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		a := &request{}
		if err := decode(w, r, a); err != nil {
			return err
		}
		if err := s.findSides(a, true, true); err != nil {
			return err
		}
		if err := a.prepareOptions(); err != nil {
			return err
		}
		return next(w, r, a)
	}
}

// respond computes an answer when there is a place, unless the browser has given up.
func (s *Server) respond(t limiter, work func(context.Context, *request) (any, error)) func(http.ResponseWriter, *http.Request, *request) error {
	return func(w http.ResponseWriter, r *http.Request, a *request) error {
		var document any
		err := t.do(r.Context(), func() (err error) {
			document, err = work(r.Context(), a)
			return err
		})
		if err != nil {
			return err
		}
		return writeJSON(w, http.StatusOK, document) // after the place is free, since a browser may read slowly
	}
}

// findSides finds the mix and the references. It returns an error if one that is needed is missing,
// or one is not measured yet.
func (s *Server) findSides(a *request, mix, references bool) error {
	if a.mix = s.uploads.get(a.Mix); a.mix == nil && mix {
		return &userError{Kind: finding.FilesNeeded, What: "there is no mix", Hint: "drop one, or choose which of the recordings it is"}
	}
	for _, id := range a.References {
		if ref := s.uploads.get(id); ref != nil {
			a.references = append(a.references, ref)
		}
	}
	if len(a.references) == 0 && references {
		return &userError{Kind: finding.FilesNeeded, What: "there is no reference", Hint: "drop one, or choose which of the recordings it is"}
	}
	for _, rec := range append([]*recording{a.mix}, a.references...) {
		if rec != nil && rec.now() != ready {
			return &userError{Kind: finding.NotMeasured, What: fmt.Sprintf("%q is not measured yet", rec.name), Hint: "wait until it is, or remove it"}
		}
	}
	return nil
}

func (a *request) prepareOptions() error {
	a.options.Plain = a.Plain
	a.options.Compare = match.CompareOptions{SmoothOct: fraction(a.SmoothOct), RangeHz: a.RangeHz}
	stage, err := match.ParseStage(cmp.Or(a.Stage, match.Rough.String()))
	a.options.Solve = a.SolveOptions
	a.options.Solve.Stage, a.options.Solve.MaxMoves = stage, a.MaxMoves
	if err := cmp.Or(a.options.Compare.Check(), err, a.options.Solve.Check()); err != nil {
		return &userError{Kind: finding.WrongOption, What: err.Error(), Hint: "put the field back"}
	}
	if given(a.Equaliser) {
		var err error
		if a.options.Solve.Equaliser, err = document.ParseEqualiser(a.Equaliser); err != nil {
			return wrongEqualiser(err)
		}
		if e := &a.options.Solve.Equaliser; e.Name == "" {
			e.Name = "the one you described"
		}
	}
	if given(a.Already) {
		settings, err := document.ReadSettings(bytes.NewReader(a.Already))
		if err != nil {
			return &userError{Kind: finding.KindOf(err, finding.SettingsWrong), What: "the settings of the bounce: " + err.Error(), Hint: "give the settings that were taken away here before"}
		}
		a.options.Previous = &match.PreviousRound{Path: "the earlier round", Name: "the earlier round", Settings: settings}
	}
	return a.prepareParts()
}

func (a *request) prepareParts() error {
	for _, side := range []struct {
		from [][2]float64
		to   *measure.Passages
	}{{a.MixPart, &a.options.Parts.Mix}, {a.RefPart, &a.options.Parts.Reference}} {
		if side.from == nil {
			continue
		}
		end := 0.0
		for _, p := range side.from {
			if !(p[0] >= end && p[1] > p[0] && p[1] < 1e7) {
				return &userError{Kind: finding.WrongOption, What: "a part runs backwards, or over another", Hint: "choose it anew on the strip"}
			}
			end = p[1]
		}
		*side.to = side.from
	}
	a.options.Parts.LoudestSec = a.LoudestSec
	if sec := a.LoudestSec; sec != 0 && !(sec >= measure.MinSec) {
		return &userError{Kind: finding.WrongOption, What: fmt.Sprintf("the loudest %g s are too short: at least %d s are needed", sec, measure.MinSec), Hint: "a minute is a good length"}
	}
	return nil
}

func given(document json.RawMessage) bool { return len(document) > 0 && string(document) != "null" }

// fraction returns the fraction of an octave of which oct is the rounded value; oct if none.
func fraction(oct float64) float64 {
	const near = 1e-3
	for _, n := range []float64{1, 2, 3, 6, 12, 24} {
		if math.Abs(oct-1/n) < near {
			return 1 / n
		}
	}
	return oct
}

// setMove is a dialled move as a filter, with its index among the dialled ones.
type setMove struct {
	biquad.Filter
	of int
}

// filters returns the dialled moves that are on, as filters at a rate, in order of frequency.
func (a *request) filters(moves []dialled, rateHz float64) ([]setMove, error) {
	if len(moves) > match.MaxMoves {
		return nil, &userError{Kind: finding.WrongOption, What: fmt.Sprintf("there are %d moves; %d at most are taken", len(moves), match.MaxMoves), Hint: "take one out"}
	}
	var all []setMove
	for i, d := range moves {
		if !d.On {
			continue
		}
		shape, known := biquad.ParseShape(d.Shape)
		freqHz, gainDB, width := float64(d.FreqHz), float64(d.GainDB), float64(d.Width)
		switch {
		case !known || shape.IsCut():
			return nil, &userError{Kind: finding.WrongOption, What: fmt.Sprintf("move %d: there is no shape %q to set here", i+1, d.Shape), Hint: "choose a shelf or a bell"}
		case !(freqHz >= 10 && freqHz < rateHz/2) || !(math.Abs(gainDB) <= 40) || !(width >= 0.02 && width <= 100):
			return nil, &userError{Kind: finding.WrongOption, What: fmt.Sprintf("move %d: %g Hz, %g dB and a width of %g cannot be set", i+1, freqHz, gainDB, width), Hint: "put the field back, or use its steps"}
		case gainDB == 0:
			continue // a move of nothing
		}
		f := a.options.Solve.Dials().Limits(shape).Filter(shape, freqHz, gainDB, width)
		if err := f.Check(rateHz); err != nil || math.IsNaN(f.Q) || f.Q < 0.05 || f.Q > 50 {
			return nil, &userError{Kind: finding.WrongOption, What: fmt.Sprintf("move %d: a %s of that width cannot be made at %g dB", i+1, d.Shape, gainDB), Hint: "put the field back, or use its steps"}
		}
		all = append(all, setMove{f, i})
	}
	slices.SortStableFunc(all, func(p, q setMove) int { return cmp.Compare(p.FreqHz, q.FreqHz) })
	return all, nil
}
