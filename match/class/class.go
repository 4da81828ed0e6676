// Package class compares many mixes with the same references: those of a course, or of one's
// own album.
//
// [Run] measures the mixes on all cores and keeps only a [Row] of each, with its earlier bounce
// beside it. [Text], [TextAloud], [CSV], [JSON], [Overview], and [Wall] write the [Table]. A
// recording's table is dropped once its row is done, so a row takes a few kB whether the mix
// lasts 3 minutes or 3 hours.
//
// Limits: the caller measures the references.
//
// It builds on match and match/report; match/job and match/artefact use it.
package class

import (
	"cmp"
	"context"
	"math"
	"runtime"
	"slices"
	"strconv"

	"toneplumb/match"
	"toneplumb/match/report"
	"toneplumb/spectrum"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/parallel"
)

// Job is the input of [Run].
type Job struct {
	Mixes      []string // paths, in any order
	Before     []string // paths of earlier bounces, matched to mixes by name, see earlierOf; nil: none
	References []*measure.Recording
	Stage      match.Stage // what the moves assume
	WithinDB   float64     // the tolerance that was asked for; 0: see match.Comparison.Verdict
	Equaliser  string      // the name of the one the moves are for; "" for the common one
	Plain      bool        // call the mixes mix 1, mix 2, … in the order of their names, instead of by name

	// Measure reads one mix. Several goroutines call it.
	Measure func(ctx context.Context, path string) (*measure.Recording, error)

	// Judge compares a named mix with the references, and with its earlier bounce, nil if
	// there is none. Several goroutines call it.
	Judge func(mix, before *measure.Recording, references []*measure.Recording) (*match.Result, *match.Check, error)

	// Keep, if not nil, is called with each result, from several goroutines, before the
	// result is dropped. An error ends the run. What it keeps stays in memory.
	Keep func(row *Row, r *match.Result) error
}

// Table is the result of [Run], which sorts its rows by name.
type Table struct {
	References []string    // their names, or "reference 1"
	Plain      bool        // names are left out
	Blank      bool        // the text has no zones and moves, for worksheets
	Stage      match.Stage // see Job
	WithinDB   float64     // see Job
	Equaliser  string      // see Job
	Rows       []Row
	History    bool     // earlier bounces were given
	Missing    []string // earlier bounces without a mix of the same name; "an earlier mix" if Plain
}

// Row is what is kept of one mix. If Problem is not empty, only Number and Name are set.
type Row struct {
	Number int    // from 1, by name
	Name   string // of the file, or "mix 1"

	Problem string // why the mix could not be read or judged; "" if it was

	DurationSec, LoudnessLUFS, TruePeakDBTP float64

	Verdict         match.Verdict
	Zones           []match.ZoneVerdict
	DistanceDB      float64 // rms, mean removed
	DistanceAfterDB float64 // the same with the moves
	Moves           []match.Move
	NoMoves         match.NoMoves // why Moves is empty, if it is
	Gap             *match.Gap    // where the mix is farthest off; nil if no zone is worth naming
	TrimDB          float64
	Warnings        finding.List

	CurveDB []float32 // the difference, references less mix, per band; NaN where left out

	Since         *match.Progress // since its earlier bounce, with Before nil; nil if there is none
	BeforeProblem string          // why the earlier bounce could not be read; "" if it was
}

// Run measures and judges the mixes, as many at once as there are processors. The table
// depends neither on their number nor on the order of the mixes. An unreadable mix becomes a
// row with its problem. Run returns an error if the context is done or Keep returns one. It
// panics without references, Measure or Judge.
func Run(ctx context.Context, job Job) (*Table, error) {
	if len(job.References) == 0 || job.Measure == nil || job.Judge == nil {
		panic("class: references and ways to measure and to judge are needed")
	}
	t := &Table{Plain: job.Plain, Stage: job.Stage, WithinDB: job.WithinDB, Equaliser: job.Equaliser}
	paths := report.ByName(job.Mixes)
	t.Rows = make([]Row, len(paths))
	naming := &match.Naming{Plain: job.Plain}
	for i, path := range paths {
		t.Rows[i].Number, t.Rows[i].Name = i+1, naming.Name(report.Name(path), "mix "+strconv.Itoa(i+1))
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
		err = ctx.Err() // it may have ended while the last rows were filled in
	}
	if err != nil {
		return nil, err
	}
	return t, nil
}

// fill sets one row; before is the path of an earlier bounce, "" if there is none. It returns an
// error only if the whole run must end.
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
		since.Before = nil // it holds the recording's table
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

// ByDistance sorts the rows, the nearest first and unreadable mixes last.
func (t *Table) ByDistance() {
	distance := func(r Row) float64 {
		if r.Problem != "" {
			return math.Inf(1)
		}
		return r.DistanceDB
	}
	slices.SortStableFunc(t.Rows, func(a, b Row) int { return cmp.Compare(distance(a), distance(b)) })
}

// Unreadable returns the number of mixes that could not be read or judged.
func (t *Table) Unreadable() int {
	return t.count(func(r Row) bool { return r.Problem != "" })
}

// Differing returns the number of mixes with the verdict [match.Differs].
func (t *Table) Differing() int { return t.judged(match.Differs) }

// judged returns the number of mixes with a verdict.
func (t *Table) judged(v match.Verdict) int {
	return t.count(func(r Row) bool { return r.Problem == "" && r.Verdict == v })
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
