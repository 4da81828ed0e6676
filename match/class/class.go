// Package class holds many mixes against the same references: a course's, or those of
// one's own album.
//
// Run measures the mixes on all cores and keeps of each only a Row, with its earlier bounce
// beside it; Text, CSV, JSON, Overview, WallPNG and WallSVG write the Table. A row of 3 minutes or 3 hours takes the same few kB: the
// table of a recording is dropped once its row is done.
//
// Limits: the references are the caller's, measured once.
//
// It builds on match and match/report; match/job and match/artefact use it.
package class

import (
	"cmp"
	"context"
	"math"
	"path/filepath"
	"runtime"
	"slices"

	"toneplumb/match"
	"toneplumb/match/report"
	"toneplumb/spectrum"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/parallel"
)

// Job is what is to be done.
type Job struct {
	Mixes      []string // files, in any order
	Before     []string // earlier bounces of them, each found by its name, see earlierOf; nil: none
	References []*measure.Recording
	WithinDB   float64 // the tolerance that was asked for; 0: by the rule of tolerances
	Plain      bool    // no names of files: mix 1, mix 2 in the order of their names

	// Measure reads one mix. Several goroutines call it.
	Measure func(ctx context.Context, path string) (*measure.Recording, error)

	// Judge compares a mix, which has its name, with the references, and with its earlier
	// bounce, nil if there is none. Several goroutines call it.
	Judge func(mix, before *measure.Recording, references []*measure.Recording) (*match.Result, *match.Check, error)

	// Keep, if given, is called with each result while there is one, from several
	// goroutines; an error of it ends the work. What it keeps stays in memory.
	Keep func(row *Row, r *match.Result) error
}

// Table is what became of a job. Rows stand in the order of their names.
type Table struct {
	References []string // their names, or "reference 1"
	Plain      bool     // names are left out
	WithinDB   float64
	Rows       []Row
	History    bool     // earlier bounces were asked for
	Missing    []string // names of earlier bounces of which no mix is among the rows; "an earlier mix" without names
}

// Row is what is kept of one mix.
type Row struct {
	Number int    // from 1, by name
	Name   string // of the file, or "mix 1"

	Problem string // why there is nothing else here; "" if there is

	DurationSec, LoudnessLUFS, TruePeakDBTP float64

	Verdict         match.Verdict
	Zones           []match.ZoneVerdict
	DistanceDB      float64 // mean removed
	DistanceAfterDB float64 // with the moves
	Moves           []match.Move
	NoMoves         match.NoMoves // why there are none, where there are none
	Gap             *match.Gap    // where it is farthest off; nil where no zone is worth naming
	TrimDB          float64
	Warnings        finding.List

	CurveDB []float32 // the difference per band; NaN where left out

	Since         *match.Progress // since its earlier bounce, without the tables; nil if there is none
	BeforeProblem string          // why the earlier bounce could not be read
}

// Run measures and judges the mixes, as many at once as there are processors. The table
// does not depend on their number, nor on the order of the mixes. An unreadable mix is a
// row with its problem. It returns the context's error once that is done, and that of
// Keep.
func Run(ctx context.Context, job Job) (*Table, error) {
	if len(job.References) == 0 || job.Measure == nil || job.Judge == nil {
		panic("class: references and ways to measure and to judge are needed")
	}
	t := &Table{Plain: job.Plain, WithinDB: job.WithinDB}
	paths, names := slices.Clone(job.Mixes), byName()
	slices.SortStableFunc(paths, func(a, b string) int {
		return cmp.Or(names(filepath.Base(a), filepath.Base(b)), names(a, b))
	})
	t.Rows = make([]Row, len(paths))
	naming := &match.Naming{Plain: job.Plain}
	for i, path := range paths {
		t.Rows[i].Number, t.Rows[i].Name = i+1, naming.Name(report.Name(path), "mix "+itoa(i+1))
	}
	references := naming.References(job.References)
	for _, r := range references {
		t.References = append(t.References, r.Name)
	}
	before, missing := earlierOf(paths, job.Before)
	t.History = job.Before != nil
	for _, path := range missing {
		t.Missing = append(t.Missing, naming.Name(report.Name(path), "an earlier mix"))
	}
	err := parallel.Each(ctx, runtime.GOMAXPROCS(0), len(paths), func(ctx context.Context, i int) error {
		return fill(ctx, &t.Rows[i], paths[i], before[i], references, job)
	})
	if err == nil {
		err = ctx.Err() // done while the last rows were filled in
	}
	if err != nil {
		return nil, err
	}
	return t, nil
}

// fill fills in one row; before is the path of an earlier bounce, "" if there is none. An error
// of it ends all.
func fill(ctx context.Context, row *Row, path, before string, references []*measure.Recording, job Job) error {
	mix, err := job.Measure(ctx, path)
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if err != nil {
		row.Problem = report.Problem(err)
		return nil
	}
	var then *measure.Recording
	if before != "" {
		if then, err = job.Measure(ctx, before); ctx.Err() != nil {
			return ctx.Err()
		} else if err != nil {
			row.BeforeProblem, then = report.Problem(err), nil
		}
	}
	named := *mix
	named.Name = row.Name
	r, k, err := job.Judge(&named, then, references)
	if err != nil {
		row.Problem = report.Problem(err)
		return nil
	}
	row.DurationSec, row.LoudnessLUFS, row.TruePeakDBTP = mix.DurationSec, mix.LoudnessLUFS, math.NaN()
	if mix.Valid() {
		row.TruePeakDBTP = mix.TruePeakDBTP
	}
	row.Verdict, row.Zones = k.Verdict, k.Zones
	row.DistanceDB, row.DistanceAfterDB = r.DistanceBeforeDB, r.DistanceAfterDB
	row.Moves, row.TrimDB, row.Warnings = r.Moves, r.TrimDB, r.Warnings
	row.NoMoves, row.Gap = r.NoMoves(), r.Gap()
	if k.Since != nil {
		since := *k.Since
		since.Before = nil // which holds the table
		row.Since = &since
	}
	row.CurveDB = make([]float32, spectrum.BandCount)
	for b, db := range r.DifferenceDB {
		row.CurveDB[b] = float32(db)
	}
	if job.Keep != nil {
		return job.Keep(row, r)
	}
	return nil
}

// ByDistance sorts the rows, the nearest first and what could not be read last.
func (t *Table) ByDistance() {
	slices.SortStableFunc(t.Rows, func(a, b Row) int {
		switch read, other := a.Problem == "", b.Problem == ""; {
		case read && other:
			return cmp.Compare(a.DistanceDB, b.DistanceDB)
		case read:
			return -1
		case other:
			return 1
		}
		return 0
	})
}

// Unreadable counts the mixes that could not be read, Differing those that differ.
func (t *Table) Unreadable() int {
	return t.count(func(r Row) bool { return r.Problem != "" })
}

// Differing: see Unreadable.
func (t *Table) Differing() int {
	return t.count(func(r Row) bool { return r.Problem == "" && r.Verdict == match.Differs })
}

func (t *Table) count(is func(Row) bool) int {
	n := 0
	for _, r := range t.Rows {
		if is(r) {
			n++
		}
	}
	return n
}
