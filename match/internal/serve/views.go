package serve

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"toneplumb/match"
	"toneplumb/match/artefact"
	"toneplumb/match/class"
	"toneplumb/match/job"
	"toneplumb/match/report"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// view is a command on the page: what it needs and what runs it.
type view struct {
	needs needs
	long  bool // reads whole recordings again
	run   func(*Server, context.Context, *viewRequest, *task) (*outcome, error)
}

// needs are the recordings a view cannot do without.
type needs struct{ mix, references, mixes, prints, tracks bool }

var views = map[string]view{
	"check":     {needs: needs{mix: true, references: true}, run: (*Server).check},
	"class":     {needs: needs{mixes: true, references: true}, long: true, run: (*Server).class},
	"equaliser": {needs: needs{prints: true}, long: true, run: (*Server).equaliser},
	"exercise":  {needs: needs{mix: true}, long: true, run: (*Server).exercise},
	"marking":   {run: (*Server).marking},
	"nearest":   {needs: needs{mix: true, references: true}, run: (*Server).nearest},
	"tracks":    {needs: needs{mix: true, references: true, tracks: true}, long: true, run: (*Server).tracksView},
}

// viewRequest is a view's request: recordings and options as for match, and more. The fields mean
// the same as the command line's options with these names.
type viewRequest struct {
	request
	trainingRequest
	tracksRequest
	Before   string   `json:"before"` // an earlier mix; "": none
	Mixes    []string `json:"mixes"`
	WithinDB float64  `json:"within_db"` // 0: the usual tolerance
	Sort     string   `json:"sort"`      // name or distance

	Prints  []string `json:"prints"`
	ProbeHz int      `json:"probe_hz"`

	before        *recording
	mixes, prints []*recording
}

// ids returns the ids of all recordings in the request.
func (q *viewRequest) ids() []string {
	return slices.Concat([]string{q.Mix, q.Before}, q.References, q.Mixes, q.Prints, q.Tracks)
}

// prepareView finds the recordings and checks the options.
func (s *Server) prepareView(q *viewRequest, n needs) error {
	if err := s.findSides(&q.request, n.mix && !(n.tracks && q.Sum), n.references); err != nil {
		return err
	}
	if here := s.measuredOf(q.Before); len(here) > 0 {
		q.before = here[0]
	}
	q.mixes, q.prints, q.tracks = s.measuredOf(q.Mixes...), s.measuredOf(q.Prints...), s.measuredOf(q.Tracks...)
	switch {
	case n.mixes && len(q.mixes) == 0:
		return &userError{Kind: finding.FilesNeeded, What: "there are no mixes", Hint: "drop those of the class"}
	case n.tracks && len(q.tracks) == 0:
		return &userError{Kind: finding.FilesNeeded, What: "there are no single tracks", Hint: "drop those of the mix, bounced behind their faders"}
	case n.prints && len(q.prints) == 0:
		return &userError{Kind: finding.FilesNeeded, What: "there are no prints", Hint: "print the probe through your equaliser, and drop what comes out"}
	}
	for _, rec := range slices.Concat(q.tracks, q.prints) {
		if rec.input.IsProfile {
			return &userError{Kind: finding.IsProfile, What: fmt.Sprintf("%q is a profile, which holds no sound", rec.name), Hint: "drop the recording itself"}
		}
	}
	const mostWithinDB = 20 // as --within
	if !(q.WithinDB >= 0 && q.WithinDB <= mostWithinDB) {
		return &userError{Kind: finding.WrongOption, What: fmt.Sprintf("a tolerance of %g dB cannot be judged by", q.WithinDB), Hint: fmt.Sprintf("give one up to %d dB, or none", mostWithinDB)}
	}
	if err := q.prepareOptions(); err != nil {
		return err
	}
	q.options.WithinDB = q.WithinDB
	return nil
}

// measuredOf returns the recordings with these ids that are measured.
func (s *Server) measuredOf(ids ...string) []*recording {
	var here []*recording
	for _, id := range ids {
		if rec := s.uploads.get(id); rec != nil && rec.now() == ready {
			here = append(here, rec)
		}
	}
	return here
}

func inputsOf(all []*recording) []job.Input {
	var inputs []job.Input
	for _, rec := range all {
		inputs = append(inputs, rec.input)
	}
	return inputs
}

// oneOf returns the only recording of an upload; a profile of several is an error.
func (rec *recording) oneOf() (*measure.Recording, error) {
	if n := len(rec.input.Entries); n != 1 {
		return nil, &userError{Kind: finding.IsProfile, What: fmt.Sprintf("%q is a profile of several recordings, and a mix is one", rec.name), Hint: "drop the mix itself"}
	}
	return rec.input.Entries[0].Recording, nil
}

// stem returns the start of the names of files about a mix.
func (q *viewRequest) stem(thing string) string {
	if q.Plain || q.Sum || q.mix == nil {
		return thing
	}
	return strings.TrimSuffix(q.mix.name, filepath.Ext(q.mix.name)) + " " + thing
}

// check judges the mix, as the command check does.
func (s *Server) check(ctx context.Context, q *viewRequest, t *task) (*outcome, error) {
	of := job.CheckRequest{Options: q.options, References: job.References(inputsOf(q.references)...)}
	var err error
	if of.Mix, err = q.mix.oneOf(); err != nil {
		return nil, err
	}
	if q.before != nil {
		if of.Before, err = q.before.oneOf(); err != nil {
			return nil, err
		}
	}
	k, err := job.Check(ctx, of)
	if err != nil {
		return nil, err
	}
	return &outcome{Headline: report.CheckSentence(k), Blocks: report.CheckBlocks(k), Files: filesOf(q.stem("check"), artefact.Check, k),
		InWords: "Above, the spectra of mix and reference. Below, the mix minus the reference with the tolerance of each zone; the table has the same zone by zone.",
		Panels:  []int{1},
		picture: func(w io.Writer, _ int, look report.ChartOptions) error {
			return report.CheckChart(k, look).WriteSVG(w)
		},
		reading: func(_ int, look report.ChartOptions) (*report.Reading, error) { return report.CheckReading(k, look) }}, nil
}

// class compares many mixes, as the command class does.
func (s *Server) class(ctx context.Context, q *viewRequest, t *task) (*outcome, error) {
	of := job.ClassRequest{Options: q.options, References: job.References(inputsOf(q.references)...), ByDistance: q.Sort == "distance", Pages: true, Done: func() { t.done.Add(1) }}
	of.Previous, of.Parts.Mix = nil, nil // both are about the single mix
	t.of.Store(int64(len(q.mixes)))
	reader := job.Reader{Known: map[string]job.Input{}}
	for _, rec := range q.mixes {
		path := filepath.Join(rec.id, rec.name) // two may have the same name
		of.Mixes, reader.Known[path] = append(of.Mixes, path), rec.input
	}
	found, err := reader.Class(ctx, of)
	if err != nil {
		return nil, err
	}
	return &outcome{Headline: class.Headline(found.Table), Blocks: class.Blocks(found.Table), Files: filesOf("class", artefact.Class, found)}, nil
}

// nearest ranks the references, as the command nearest does.
func (s *Server) nearest(ctx context.Context, q *viewRequest, t *task) (*outcome, error) {
	if _, err := q.mix.oneOf(); err != nil {
		return nil, err
	}
	found, err := job.Nearest(ctx, q.options, q.mix.input, inputsOf(q.references))
	if err != nil {
		return nil, err
	}
	return &outcome{Headline: report.NearestHeadline(found.Ranked), Blocks: report.NearestBlocks(found.Ranked, found.Warnings), Together: q.together(found.Ranked), Files: filesOf(q.stem("nearest"), artefact.Nearest, found)}, nil
}

// together returns the ids of the references to use together; nil if there is nothing to choose, or one is of a profile
// that holds others too.
func (q *viewRequest) together(ranked []match.RankedReference) (ids []string) {
	all, best := job.References(inputsOf(q.references)...), match.Recommended(ranked)
	if len(best) == 0 || !slices.ContainsFunc(ranked[best[len(best)-1]+1:], func(r match.RankedReference) bool { return !r.SameSong }) {
		return nil
	}
	for _, i := range best {
		at := slices.IndexFunc(q.references, func(rec *recording) bool { return rec.input.Entries[0].Recording == all[ranked[i].Index] })
		if at < 0 || len(q.references[at].input.Entries) > 1 {
			return nil
		}
		ids = append(ids, q.references[at].id)
	}
	return ids
}
