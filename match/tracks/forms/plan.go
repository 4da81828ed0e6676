package forms

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"

	"toneplumb/match"
	"toneplumb/match/report"
	"toneplumb/match/tracks"
	"toneplumb/spectrum/measure"
)

// PlanDocument is a document of tracks, read for its plan.
type PlanDocument struct{ d tracksDocument }

// RateHz returns the sample rate of the mix and the tracks.
func (p *PlanDocument) RateHz() float64 { return float64(p.d.RateHz) }

// ReadPlan reads a document written by [JSON]. Its error says why the document holds no plan that
// can be rendered.
func ReadPlan(in io.Reader) (*PlanDocument, error) {
	const most = 64 << 20 // bytes; our choice: ten times what forty tracks need
	data, err := io.ReadAll(io.LimitReader(in, most))
	if err != nil {
		return nil, err
	}
	var d tracksDocument
	switch err := json.Unmarshal(data, &d); {
	case err != nil || d.Tracks == nil || d.Version != report.FindingsVersion:
		return nil, errors.New("it is no document of tracks")
	case d.Already:
		return nil, errors.New("its mix was taken without the moves it ran through; tracks with --already and -o OUT.wav writes it")
	case d.PlanFirm == nil || !*d.PlanFirm || len(d.Faders)+len(d.Filters)+len(d.Widths) == 0:
		return nil, errors.New("it has no plan to render: that needs the same song as reference")
	}
	return &PlanDocument{d}, nil
}

var errBroken = errors.New("the document is not whole")

// mostPlanDB bounds a step in a document, up and down. Our choice: twice the largest in a plan.
const mostPlanDB = 24

// Advice applies the plan to these recordings. mix is [tracks.SumName] for the sum of the tracks.
// The advice holds just enough for [tracks.Advice.Planned]; late is the number of frames by which
// tracks are shifted earlier, by path. The error says what does not fit the document.
func (p *PlanDocument) Advice(mix string, paths []string) (a *tracks.Advice, late map[string]int, err error) {
	d := &p.d
	if len(paths) != len(d.Tracks) {
		return nil, nil, fmt.Errorf("it is for %d of them, not %d", len(d.Tracks), len(paths))
	}
	if d.IsSum != (mix == tracks.SumName) {
		return nil, nil, errors.New("it is for another mix")
	}
	late = map[string]int{}
	a = &tracks.Advice{Result: &match.Result{Comparison: &match.Comparison{Mix: &measure.Recording{Path: mix}}}, Plan: &tracks.Plan{}}
	names := match.Naming{}
	for i, t := range d.Tracks {
		if name := names.Name(measure.NameOf(paths[i]), ""); t.File != name && t.File != fmt.Sprintf("track %d", i+1) {
			return nil, nil, fmt.Errorf("track %d is %s there, not %s", i+1, report.Printable(t.File), report.Printable(name))
		}
		x := tracks.Track{Path: paths[i], State: tracks.Absent}
		if t.State == stateWords[tracks.Heard] && t.PlaceDB != nil && t.PolarityTurned != nil {
			x.State, x.PlaceDB, x.Inverted = tracks.Heard, float64(*t.PlaceDB), *t.PolarityTurned
		}
		if t.LateFrames != 0 {
			late[paths[i]] = t.LateFrames
		}
		a.Tracks = append(a.Tracks, x)
	}
	for _, g := range d.Groups {
		for _, i := range g.Tracks {
			if i < 0 || i >= len(paths) {
				return nil, nil, errBroken
			}
		}
		a.Groups = append(a.Groups, tracks.Group(g))
	}
	return a, late, d.steps(a)
}

// steps copies the steps into a, each within bounds.
func (d *tracksDocument) steps(a *tracks.Advice) error {
	within := func(db report.Number) bool { return math.Abs(float64(db)) <= mostPlanDB }
	for _, w := range d.Widths {
		if w.Track < 0 || w.Track >= len(a.Tracks) || !within(w.SideDB) {
			return errBroken
		}
		a.Plan.Widths = append(a.Plan.Widths, tracks.Width{Track: w.Track, SideDB: float64(w.SideDB)})
	}
	for _, f := range d.Faders {
		number, ok := f.number(a)
		if !ok || number < 0 || !within(f.GainDB) {
			return errBroken
		}
		a.Plan.Faders = append(a.Plan.Faders, tracks.Fader{Track: number, GainDB: float64(f.GainDB)})
	}
	for _, f := range d.Filters {
		number, ok := f.number(a)
		if !ok || f.Filter == nil || f.Filter.Q == nil || !within(f.Filter.GainDB) {
			return errBroken
		}
		x, known := f.Filter.Filter()
		if !known || x.Shape.IsCut() || x.Check(float64(d.RateHz)) != nil {
			return errBroken
		}
		a.Plan.Filters = append(a.Plan.Filters, tracks.PlanFilter{Track: number, Filter: x})
	}
	return nil
}

// number returns the track or group of a step, −1 for the master; not ok if there is none.
func (j onJSON) number(a *tracks.Advice) (number int, ok bool) {
	switch {
	case j.Group != nil:
		for i, g := range a.Groups {
			if g.Name == *j.Group {
				return len(a.Tracks) + i, true
			}
		}
		return 0, false
	case j.Track != nil:
		return *j.Track, *j.Track >= 0 && *j.Track < len(a.Tracks)
	}
	return -1, true
}
