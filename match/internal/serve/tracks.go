package serve

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"net/http"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"toneplumb/match/artefact"
	"toneplumb/match/job"
	"toneplumb/match/page"
	"toneplumb/match/report"
	"toneplumb/match/tracks"
	"toneplumb/match/tracks/forms"
	"toneplumb/match/words"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// tracksRequest is what a person says about single tracks, which are given by id.
type tracksRequest struct {
	Tracks []string     `json:"tracks"`
	Sum    bool         `json:"sum"` // there is no mix: the tracks' sum is taken for it
	Groups []trackGroup `json:"groups"`
	Front  []string     `json:"front"`
	Back   []string     `json:"back"`

	tracks []*recording
}

// trackGroup is tracks that have one fader and one equaliser.
type trackGroup struct {
	Name   string   `json:"name"`
	Tracks []string `json:"tracks"`
}

// trackPlacing is what a person says about one track. It is kept here as roles are; a request has
// its own.
type trackPlacing struct {
	Group string `json:"group"` // "": none
	Place string `json:"place"` // front, back, or "" as it is
}

// place keeps what is said about a track.
func (s *Server) place(w http.ResponseWriter, r *http.Request, rec *recording) error {
	var said trackPlacing
	if err := decode(w, r, &said); err != nil {
		return err
	}
	if said.Group = groupName(said.Group); !slices.Contains([]string{"", "front", "back"}, said.Place) {
		return refusal(finding.PageOutOfDate, http.StatusBadRequest, "there is no such place for a track", "reload the page")
	}
	rec.lock.Lock()
	rec.placing = said
	rec.lock.Unlock()
	w.WriteHeader(http.StatusNoContent)
	return nil
}

// placing returns groups and places by the tracks' numbers, as --group, --front and --back.
func (q *tracksRequest) placing() (o tracks.Options, err error) {
	numbers := func(ids []string) (all []int) {
		for i, rec := range q.tracks {
			if slices.Contains(ids, rec.id) {
				all = append(all, i)
			}
		}
		return all
	}
	o.Front, o.Back = numbers(q.Front), numbers(q.Back)
	for _, i := range o.Front {
		if slices.Contains(o.Back, i) {
			return o, &userError{Kind: finding.OptionsClash, What: fmt.Sprintf("%q is to be in front and behind", q.tracks[i].name), Hint: "choose one"}
		}
	}
	for _, g := range q.Groups {
		name, members := groupName(g.Name), numbers(g.Tracks)
		switch {
		case len(members) == 0:
			continue // its tracks are gone
		case name == "":
			return o, &userError{Kind: finding.WrongOption, What: "a group of tracks has no name", Hint: "give it one"}
		case slices.ContainsFunc(o.Groups, func(other tracks.Group) bool { return other.Name == name }):
			return o, &userError{Kind: finding.WrongOption, What: fmt.Sprintf("two groups are named %q", name), Hint: "give each a name of its own"}
		}
		o.Groups = append(o.Groups, tracks.Group{Name: name, Tracks: members})
	}
	return o, nil
}

// groupName returns the name of a group as it is written.
func groupName(given string) string {
	name := []rune(strings.TrimSpace(report.Printable(strings.ToValidUTF8(given, "�"))))
	return string(name[:min(len(name), maxNameRunes)])
}

// trackFiles opens recordings by paths that begin with their ids, since two files may have the same
// name.
type trackFiles map[string]*recording

func (f trackFiles) pathOf(rec *recording) string {
	at := path.Join(rec.id, rec.name)
	f[at] = rec
	return at
}

// measured returns the tables of recordings and profiles, under these paths.
func (f trackFiles) measured(all []*recording) (inputs []job.Input) {
	for _, rec := range all {
		in := rec.input
		in.Entries = slices.Clone(in.Entries)
		if !in.IsProfile {
			table := *in.Entries[0].Recording
			table.Path = f.pathOf(rec)
			in.Entries[0].Recording = &table
		}
		inputs = append(inputs, in)
	}
	return inputs
}

func (f trackFiles) open(ctx context.Context, at string) (audio.Source, error) {
	rec := f[at]
	if rec == nil {
		return nil, fmt.Errorf("%q is not here", path.Base(at))
	}
	if rec.hasRole(asMix) {
		return rec.keeper.Open(ctx, rec.path) // read with every group of tracks
	}
	return audio.Open(ctx, rec.path)
}

// named gives an error about a file the name under which it was dropped.
func (f trackFiles) named(err error) error {
	var file *audio.Error
	if errors.As(err, &file) {
		for at, rec := range f {
			if file.Path == at || file.Path == rec.path {
				return userErrorOf(err, rec.name)
			}
		}
	}
	return err
}

// tracksView finds which single track carries what, as the command tracks does.
func (s *Server) tracksView(ctx context.Context, q *viewRequest, t *task) (*outcome, error) {
	placing, err := q.placing()
	if err != nil {
		return nil, err
	}
	placing.Plain = q.Plain
	at := trackFiles{}
	of := job.TracksRequest{Options: q.options, References: job.References(at.measured(q.references)...), Placing: placing}
	for _, rec := range q.tracks {
		of.Tracks = append(of.Tracks, at.pathOf(rec))
		t.of.Add(rec.frames.Load())
	}
	reader := job.Reader{Open: at.open, Watch: func(src audio.Source, _ string) audio.Source { return &counted{src, &t.done} }}
	if of.Mix, err = q.tracksMix(ctx, &of, &reader, at, t); err != nil {
		return nil, at.named(err)
	}
	found, err := reader.Tracks(ctx, of)
	if err != nil {
		return nil, at.named(err)
	}
	advice, part := found.Advice, forms.Part(found.Advice)
	blocks := part.Blocks
	if slices.Contains(found.Result.SameSong, false) { // the same song is followed alike at every stage
		blocks = append(blocks, report.Paragraphs("", fmt.Sprintf("Taken for %s, as chosen under Starting a mix.", words.Stage(found.Result.SolveOptions.Stage))))
	}
	files := filesOf(q.stem("tracks"), artefact.Tracks, found)
	if advice.PlanReplacesMoves() {
		files = append(files, takeAway{Name: q.mixStem() + " with the plan.wav", Form: "Mix with the plan (WAV)", Slow: true, mime: "audio/wav",
			render: func(ctx context.Context, goal string) error {
				out, err := found.RenderPlan(ctx, goal)
				if err != nil {
					return at.named(err)
				}
				defer out.Sound.Abort()
				return out.Sound.Close()
			}})
	}
	return &outcome{Headline: forms.Headline(advice), Blocks: blocks, Files: files,
		InWords: part.InWords, Panels: forms.PanelCounts(advice),
		picture: func(w io.Writer, of int, look report.ChartOptions) error { return forms.Panels(w, advice, of, look) },
		reading: func(of int, look report.ChartOptions) (*report.Reading, error) {
			return forms.PanelsReading(advice, of, look)
		},
		Plays: true, play: func(ctx context.Context) (*page.Player, []page.Stored, []string, error) {
			sound, err := found.Cut(ctx, true)
			if err != nil {
				return nil, nil, nil, at.named(err)
			}
			return sound.Play(ctx, found.Result, math.MaxInt)
		}}, nil
}

// tracksMix returns the table of the mix, or of the tracks' sum, which is measured here; the reader
// then opens the sum too.
func (q *viewRequest) tracksMix(ctx context.Context, of *job.TracksRequest, reader *job.Reader, at trackFiles, t *task) (*measure.Recording, error) {
	if q.Sum {
		of.Previous, of.Parts.Mix = nil, nil // both are about a bounce
		reader.Open = job.OpenSum(at.open, of.Tracks)
		longest := int64(0)
		for _, rec := range q.tracks {
			longest = max(longest, rec.frames.Load())
		}
		t.of.Add(longest)
		return reader.Measure(ctx, tracks.SumName)
	}
	if _, err := q.mix.oneOf(); err != nil {
		return nil, err
	}
	if q.mix.input.IsProfile {
		return nil, &userError{Kind: finding.IsProfile, What: fmt.Sprintf("%q is a profile, and single tracks are read beside the sound of the mix", q.mix.name), Hint: "drop the mix itself"}
	}
	return at.measured([]*recording{q.mix})[0].Entries[0].Recording, nil
}

// mixStem returns the start of the name of a file that is a mix.
func (q *viewRequest) mixStem() string {
	switch {
	case q.Sum:
		return "sum of the tracks"
	case q.Plain:
		return "mix"
	}
	return strings.TrimSuffix(q.mix.name, filepath.Ext(q.mix.name))
}
