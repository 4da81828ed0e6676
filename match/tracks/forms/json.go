package forms

import (
	"io"
	"math"

	"toneplumb/match/report"
	"toneplumb/match/tracks"
	"toneplumb/match/words"
	"toneplumb/spectrum"
)

// tracksDocument is the document of tracks --json. Names are written in full. Fields that do not
// apply are null. Shares are from 0 to 1. Tracks are numbered from 0 in their order. For a track
// that is not heard, its gain in the mix and the effect of moves on it are unknown.
type tracksDocument struct {
	Version    int             `json:"version"`
	Mix        string          `json:"mix"`
	IsSum      bool            `json:"mix_is_sum"` // of the tracks
	Already    bool            `json:"already"`    // the moves the mix ran through were removed
	References []string        `json:"references"`
	RateHz     report.Number   `json:"rate_hz"`
	Zones      []zoneRestJSON  `json:"zones"`
	Tracks     []trackJSON     `json:"tracks"`
	Moves      []trackMoveJSON `json:"moves"`
	Pairs      []pairJSON      `json:"pairs"`
	LowCuts    []lowCutJSON    `json:"low_cuts"`
	Placings   []placingJSON   `json:"placings"`

	Groups []groupJSON `json:"groups"`

	// The plan: widths, then faders, then filters, each with the distance after it; null if the
	// comparison allows no plan.
	PlanFirm         *bool            `json:"plan_firm"` // same song in both; else a hint
	DistanceBefore   *report.Number   `json:"distance_before_db"`
	WidthBefore      *report.Number   `json:"width_before_db"` // side against mid, rms of third octaves; null: not off
	Widths           []widthJSON      `json:"widths"`
	Faders           []faderJSON      `json:"faders"`
	Filters          []planFilterJSON `json:"filters"`
	DistanceRendered *report.Number   `json:"distance_rendered_db"` // measured with the whole plan

	Warnings []report.Warning `json:"warnings"`
}

type zoneRestJSON struct {
	Zone      string        `json:"zone"`
	LowHz     report.Number `json:"low_hz"`
	HighHz    report.Number `json:"high_hz"`
	RestShare report.Number `json:"rest_share"` // the share of no track
}

type trackJSON struct {
	File           string          `json:"file"`
	Name           string          `json:"name"`
	State          string          `json:"state"` // "heard", "silent", "not in the mix", "same as another"
	SameAs         *int            `json:"same_as"`
	PlaceDB        *report.Number  `json:"place_db"` // how much louder it is in the mix than in its file
	PolarityTurned *bool           `json:"polarity_turned"`
	LateFrames     int             `json:"late_frames"` // it is read this many frames later
	LoudnessLUFS   *report.Number  `json:"loudness_lufs"`
	ShareOfZones   []report.Number `json:"share_of_zones"`
	OwnZones       []report.Number `json:"own_zones"` // distribution of its own power over the zones
	MovesLU        []report.Number `json:"moves_lu"`  // for each move on the master, the change of its loudness
	AllMovesLU     *report.Number  `json:"all_moves_lu"`
}

type trackMoveJSON struct {
	Filter       *report.Filter   `json:"filter"`
	Where        string           `json:"where"` // "master", "track", "either"
	Track        *int             `json:"track"` // for "master" the best of the tracks
	With         []int            `json:"with"`  // carry it together with the track
	Alike        []int            `json:"alike"` // explain it as well as the track
	Shares       []*report.Number `json:"shares"`
	RestShare    report.Number    `json:"rest_share"`
	SameMoments  bool             `json:"same_moments"`
	Seconds      int              `json:"seconds"`
	MasterLeaves *report.Number   `json:"master_leaves_db"`
	TrackLeaves  []*report.Number `json:"track_leaves_db"`
	Together     *report.Number   `json:"together_leaves_db"`
	Instead      *insteadJSON     `json:"instead"`
	AgainstFront bool             `json:"against_front"`
	AgainstBack  bool             `json:"against_back"`
	Curve        []effectJSON     `json:"curve"`
}

type insteadJSON struct {
	Tracks  []int           `json:"tracks"`
	Filter  *report.Filter  `json:"filter"`
	TrimsDB []report.Number `json:"trims_db"`
	ApartDB report.Number   `json:"apart_db"` // without the trims

	MostlyLevel bool `json:"mostly_level"` // with the trims less than half of the move remains
}

// effectJSON is one band, unsmoothed; text and chart show the same smoothed like the difference.
type effectJSON struct {
	FreqHz   report.Number  `json:"freq_hz"`
	MasterDB report.Number  `json:"master_db"` // effect on the mix of the move on the master
	TrackDB  *report.Number `json:"track_db"`  // effect on the mix of the move on the track

	TrimmedDB *report.Number `json:"trimmed_db"` // the same with its trims
}

type pairJSON struct {
	Zone    string         `json:"zone"`
	Tracks  [2]int         `json:"tracks"`
	Share   report.Number  `json:"share_of_song"`
	Seconds int            `json:"seconds"`
	LevelDB report.Number  `json:"level_db"` // first minus second
	Cut     int            `json:"cut"`
	Reason  string         `json:"reason"` // "needs it less", "stands behind", "other in front", "plan turns it down", "plan turns the other up"
	Filter  *report.Filter `json:"filter"`
	TrimDB  report.Number  `json:"trim_db"`
	MixDB   report.Number  `json:"mix_db"`
}

type lowCutJSON struct {
	Track    int            `json:"track"`
	Filter   *report.Filter `json:"filter"`
	OwnShare report.Number  `json:"own_share"`
	MixShare report.Number  `json:"mix_share"`
	TrackLU  report.Number  `json:"track_lu"`
}

type placingJSON struct {
	Track  int            `json:"track"`
	Where  string         `json:"where"` // "front", "back"
	Filter *report.Filter `json:"filter"`
	TrimDB report.Number  `json:"trim_db"`
	MixDB  report.Number  `json:"mix_db"`
}

type groupJSON struct {
	Name   string `json:"name"`
	Tracks []int  `json:"tracks"`
}

// onJSON is the target of a step; both null: the master.
type onJSON struct {
	Track *int    `json:"track"`
	Group *string `json:"group"`
}

func on(a *tracks.Advice, number int) (j onJSON) {
	switch {
	case number >= len(a.Tracks):
		j.Group = &a.Groups[number-len(a.Tracks)].Name
	case number >= 0:
		j.Track = &number
	}
	return j
}

type widthJSON struct {
	Track      int           `json:"track"`
	SideDB     report.Number `json:"side_gain_db"`
	SideLowDB  report.Number `json:"side_gain_low_db"`
	SideHighDB report.Number `json:"side_gain_high_db"`
	Panned     bool          `json:"panned"` // one sound off centre: its pan does the same
	WidthAfter report.Number `json:"width_after_db"`
}

type faderJSON struct {
	onJSON
	GainDB        report.Number  `json:"gain_db"`
	GainLowDB     *report.Number `json:"gain_low_db"`
	GainHighDB    *report.Number `json:"gain_high_db"`
	DistanceAfter report.Number  `json:"distance_after_db"`
}

type planFilterJSON struct {
	onJSON
	Filter        *report.Filter `json:"filter"`
	DistanceAfter report.Number  `json:"distance_after_db"`
}

// plan sets the document's plan.
func (d *tracksDocument) plan(a *tracks.Advice) {
	d.Groups, d.Widths, d.Faders, d.Filters = []groupJSON{}, []widthJSON{}, []faderJSON{}, []planFilterJSON{}
	for _, g := range a.Groups {
		d.Groups = append(d.Groups, groupJSON(g))
	}
	p := a.Plan
	if p == nil {
		return
	}
	d.PlanFirm, d.DistanceBefore, d.DistanceRendered = &p.Firm, report.Known(p.BeforeDB), report.Known(p.RenderedDB)
	if p.WidthBeforeDB > 0 {
		d.WidthBefore = report.Known(p.WidthBeforeDB)
	}
	for _, w := range p.Widths {
		d.Widths = append(d.Widths, widthJSON{w.Track, report.Number(w.SideDB), report.Number(w.LowDB), report.Number(w.HighDB), w.Panned, report.Number(w.AfterDB)})
	}
	for _, f := range p.Faders {
		d.Faders = append(d.Faders, faderJSON{on(a, f.Track), report.Number(f.GainDB), report.Known(f.LowDB), report.Known(f.HighDB), report.Number(f.AfterDB)})
	}
	for _, f := range p.Filters {
		d.Filters = append(d.Filters, planFilterJSON{on(a, f.Track), report.FilterOf(f.Filter), report.Number(f.AfterDB)})
	}
}

// JSON writes the advice as one document; [ReadPlan] reads its plan back.
func JSON(w io.Writer, a *tracks.Advice) error {
	d := tracksDocument{Version: report.FindingsVersion, Mix: a.Result.Mix.Name, IsSum: a.Result.Mix.Path == tracks.SumName, Already: a.Already, RateHz: report.Number(a.Together.RateHz), References: []string{},
		Moves: []trackMoveJSON{}, Pairs: []pairJSON{}, LowCuts: []lowCutJSON{}, Placings: []placingJSON{}, Warnings: []report.Warning{}}
	for i, text := range words.TrackFindings(a) {
		f := &a.Findings[i]
		d.Warnings = append(d.Warnings, report.Warning{Code: f.Code(), Severity: f.Severity().String(), Text: text})
	}
	for _, r := range a.Result.References {
		d.References = append(d.References, r.Name)
	}
	for _, z := range a.Zones {
		d.Zones = append(d.Zones, zoneRestJSON{z.Name, report.Number(z.LowHz), report.Number(z.HighHz), report.Number(z.RestShare)})
	}
	for _, t := range a.Tracks {
		j := trackJSON{File: t.File, Name: t.Name, State: stateWords[t.State]}
		if t.State == tracks.Heard {
			j.PlaceDB, j.PolarityTurned = report.Known(t.PlaceDB), &t.Inverted
			j.LateFrames = t.LateFrames
			j.ShareOfZones, j.MovesLU, j.AllMovesLU = report.Numbers(t.ShareOfZones), report.Numbers(t.MoveLU), report.Known(t.AllMovesLU)
		}
		if t.State == tracks.Duplicate {
			j.SameAs = &t.DuplicateOf
		}
		if t.State != tracks.Silent {
			j.LoudnessLUFS, j.OwnZones = report.Known(t.LoudnessLUFS), report.Numbers(t.OwnZones)
		}
		d.Tracks = append(d.Tracks, j)
	}
	for _, m := range a.Moves {
		d.Moves = append(d.Moves, moveDocument(a, m))
	}
	d.plan(a)
	for _, p := range a.Pairs {
		d.Pairs = append(d.Pairs, pairJSON{Zone: a.Zones[p.Zone].Name, Tracks: [2]int{p.A, p.B}, Share: report.Number(p.Share), Seconds: p.Seconds,
			LevelDB: report.Number(p.LevelDB), Cut: p.Cut, Reason: map[tracks.CutReason]string{tracks.NeedsLess: "needs it less", tracks.StandsBack: "stands behind", tracks.OtherFronts: "other in front",
				tracks.PlanLowers: "plan turns it down", tracks.PlanLiftsOther: "plan turns the other up"}[p.Reason],
			Filter: report.FilterOf(p.Filter), TrimDB: report.Number(p.TrimDB), MixDB: report.Number(p.MixDB)})
	}
	for _, c := range a.LowCuts {
		d.LowCuts = append(d.LowCuts, lowCutJSON{c.Track, report.FilterOf(c.Filter), report.Number(c.OwnShare), report.Number(c.MixShare), report.Number(c.TrackLU)})
	}
	for _, p := range a.Placings {
		d.Placings = append(d.Placings, placingJSON{p.Track, map[bool]string{true: "front", false: "back"}[p.Front], report.FilterOf(p.Filter), report.Number(p.TrimDB), report.Number(p.MixDB)})
	}
	return report.WriteJSON(w, d)
}

func moveDocument(a *tracks.Advice, m tracks.Move) trackMoveJSON {
	j := trackMoveJSON{Filter: report.FilterOf(m.Filter), Where: map[tracks.Where]string{tracks.Master: "master", tracks.OnTrack: "track", tracks.Either: "either"}[m.Where],
		RestShare: report.Number(m.RestShare), SameMoments: m.Why.SameMoments, Seconds: m.Why.Seconds,
		MasterLeaves: report.Known(m.Why.MasterDB), With: append([]int{}, m.With...), Alike: append([]int{}, m.Alike...), Together: report.Known(m.Why.TogetherDB), AgainstFront: m.AgainstFront, AgainstBack: m.AgainstBack}
	if m.Track >= 0 {
		j.Track = &m.Track
	}
	for i, share := range m.Shares {
		if a.Tracks[i].State != tracks.Heard {
			share = math.NaN()
		}
		j.Shares = append(j.Shares, report.Known(share))
	}
	for _, left := range m.Why.TrackDB {
		j.TrackLeaves = append(j.TrackLeaves, report.Known(left))
	}
	if x := m.Instead; x != nil {
		j.Instead = &insteadJSON{x.Tracks, report.FilterOf(x.Filter), report.Numbers(x.TrimsDB), report.Number(x.ApartDB), x.MostlyLevel}
	}
	for b, db := range m.MasterDB {
		e := effectJSON{FreqHz: report.Number(spectrum.CentreHz(b)), MasterDB: report.Number(db)}
		if m.Instead != nil {
			e.TrackDB = report.Known(m.Instead.EffectDB[b])
			if m.Instead.TrimmedDB != nil {
				e.TrimmedDB = report.Known(m.Instead.TrimmedDB[b])
			}
		}
		j.Curve = append(j.Curve, e)
	}
	return j
}
