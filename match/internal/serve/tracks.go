package serve

import (
	"context"
	"fmt"
	"io"
	"path"

	"toneplumb/match/artefact"
	"toneplumb/match/job"
	"toneplumb/match/report"
	"toneplumb/match/tracks"
	"toneplumb/match/tracks/forms"
	"toneplumb/spectrum/audio"
)

// tracksView finds which single track carries what, as the command tracks does.
func (s *Server) tracksView(ctx context.Context, q *viewRequest, t *task) (*outcome, error) {
	table, err := q.mix.oneOf()
	switch {
	case err != nil:
		return nil, err
	case q.mix.input.IsProfile:
		return nil, &userError{What: q.mix.name + " is a profile, and single tracks are read beside the sound of the mix", Hint: "drop the mix itself"}
	}
	// Two files may have the same name, so here their paths begin with their ids.
	byPath := map[string]*recording{}
	pathOf := func(rec *recording) string {
		at := path.Join(rec.id, rec.name)
		byPath[at] = rec
		return at
	}
	mix := *table
	mix.Path = pathOf(q.mix)
	of := job.TracksRequest{Options: q.options, Mix: &mix, References: job.References(inputsOf(q.references)...), Placing: tracks.Options{Plain: q.Plain}, Sound: true}
	for _, rec := range q.tracks {
		of.Tracks = append(of.Tracks, pathOf(rec))
		t.of.Add(rec.frames.Load())
	}
	reader := job.Reader{
		Open: func(ctx context.Context, at string) (audio.Source, error) {
			if rec := byPath[at]; rec == q.mix {
				return rec.keeper.Open(ctx, rec.path) // read with every group of tracks
			} else if rec != nil {
				return audio.Open(ctx, rec.path)
			}
			return nil, fmt.Errorf("%q is not here", path.Base(at))
		},
		Watch: func(src audio.Source, _ string) audio.Source { return &counted{src, &t.done} },
	}
	found, err := reader.Tracks(ctx, of)
	if err != nil {
		return nil, err
	}
	advice, part := found.Advice, forms.Part(found.Advice)
	return &outcome{Headline: forms.Headline(advice), Blocks: part.Blocks, Files: filesOf(q.stem("tracks"), artefact.Tracks, found),
		InWords: part.InWords, Panels: max(1, len(advice.Moves)),
		picture: func(w io.Writer, look report.ChartOptions) error { return forms.Panels(w, advice, look) }}, nil
}
