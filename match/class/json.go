package class

import (
	"io"
	"math"

	"toneplumb/match/report"
	"toneplumb/match/words"
)

type gapJSON struct {
	Zone         string        `json:"zone"`
	DifferenceDB report.Number `json:"difference_db"` // references less mix
	Cause        string        `json:"cause"`
	Move         *int          `json:"move"` // the move that deals with it, from 1; null for none
	Text         string        `json:"text"`
}

type sinceJSON struct {
	DistanceThenDB report.Number `json:"distance_then_db"`
	DistanceNowDB  report.Number `json:"distance_now_db"`
	Is             string        `json:"is"` // "nearer", "as before", "further off"
	SameSong       bool          `json:"same_song"`
}

type mixJSON struct {
	Number           int              `json:"number"`
	File             string           `json:"file"`
	Error            *string          `json:"error"` // why the other fields are null; null if they are not
	DurationS        *report.Number   `json:"duration_s"`
	LoudnessLUFS     *report.Number   `json:"loudness_lufs"`
	TruePeak         *report.Number   `json:"true_peak_dbtp"`
	Verdict          *string          `json:"verdict"`
	DistanceBeforeDB *report.Number   `json:"distance_before_db"`
	DistanceAfterDB  *report.Number   `json:"distance_after_db"`
	Zones            any              `json:"zones"`
	Moves            any              `json:"moves"`
	TrimDB           *report.Number   `json:"trim_db"`
	LargestGap       *gapJSON         `json:"largest_gap"` // null: no zone worth naming
	Since            *sinceJSON       `json:"since"`       // null: no earlier bounce
	Warnings         []report.Warning `json:"warnings"`
}

type sharedJSON struct {
	Zone    string `json:"zone"`
	TooMuch bool   `json:"too_much"` // false: too little
	Mixes   int    `json:"mixes"`    // number of mixes that share it
	Of      int    `json:"of"`       // number of mixes in which the zone is judged
}

// JSON writes the table as one document. Its field names are those of [report.JSON] and
// [report.CheckJSON].
func JSON(w io.Writer, t *Table) error {
	d := struct {
		Version    int            `json:"version"`
		References []string       `json:"references"`
		WithinDB   *report.Number `json:"within_db"`
		Shared     []sharedJSON   `json:"shared"` // see Table.Shared
		Mixes      []mixJSON      `json:"mixes"`
	}{Version: report.FindingsVersion, References: t.References, WithinDB: report.KnownIf(t.WithinDB > 0, t.WithinDB), Shared: []sharedJSON{}, Mixes: []mixJSON{}}
	for _, s := range t.Shared() {
		d.Shared = append(d.Shared, sharedJSON{s.Name, s.TooMuch, s.Mixes, s.Of})
	}
	for _, r := range t.Rows {
		d.Mixes = append(d.Mixes, mixOf(r))
	}
	return report.WriteJSON(w, d)
}

func mixOf(r Row) mixJSON {
	m := mixJSON{Number: r.Number, File: r.Name, Warnings: report.WarningsJSON(r.Warnings)}
	if r.Problem != "" {
		m.Error = &r.Problem
		return m
	}
	m.Verdict, m.DurationS, m.LoudnessLUFS, m.TruePeak = new(r.Verdict.String()), report.Known(r.DurationSec), report.Known(r.LoudnessLUFS), report.Known(r.TruePeakDBTP)
	m.DistanceBeforeDB, m.DistanceAfterDB = report.Known(r.DistanceDB), report.Known(r.DistanceAfterDB)
	m.Zones, m.Moves, m.TrimDB = report.ZonesJSON(r.Zones), report.MovesJSON(r.Moves), report.Known(math.Round(r.TrimDB*10)/10)
	if g := r.Gap; g != nil {
		m.LargestGap = &gapJSON{Zone: g.Name, DifferenceDB: report.Number(g.DifferenceDB), Cause: g.Cause.Code(), Text: words.Gap(*g)}
		if g.Move > 0 {
			m.LargestGap.Move = &g.Move
		}
	}
	if p := r.Since; p != nil {
		m.Since = &sinceJSON{report.Number(p.DistanceThenDB), report.Number(p.DistanceNowDB), p.Nearness().String(), p.SameSong}
	}
	return m
}
