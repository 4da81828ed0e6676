package job

import (
	"context"
	"slices"

	"toneplumb/match"
	"toneplumb/match/class"
	"toneplumb/match/report"
	"toneplumb/plots"
	"toneplumb/spectrum/measure"
)

// ClassRequest asks for a table of many mixes compared with the same references.
type ClassRequest struct {
	Options
	Mixes      []string // paths, in any order
	Before     []string // paths of earlier bounces of them, found by their names; nil: none
	References []*measure.Recording
	ByDistance bool // whether rows are ordered by distance, the nearest first; else by name

	Pages bool // whether to return a page of each mix
	Page  report.HandoutOptions
	Done  func() // called after each mix, by several goroutines; may be nil
}

// ClassPage is the page of one mix to hand out.
type ClassPage struct {
	Name   string // of its row
	Sheets []*plots.Figure
}

// ClassOutcome is the table, and the pages in the order of its rows.
type ClassOutcome struct {
	*class.Table
	Pages []ClassPage // of the mixes that could be read; none if not requested
}

// Class carries out a [ClassRequest]. The row of a mix that cannot be read says why.
func (r Reader) Class(ctx context.Context, q ClassRequest) (*ClassOutcome, error) {
	sheets := make([][]*plots.Figure, len(q.Mixes)+1) // by the row's number; each is written by one goroutine
	work := class.Job{
		Mixes: q.Mixes, Before: q.Before, References: q.References, Plain: q.Plain, Stage: q.Solve.Stage, WithinDB: q.WithinDB, Equaliser: q.Solve.Equaliser.Name,
		Measure: func(ctx context.Context, path string) (*measure.Recording, error) {
			if q.Done != nil && slices.Contains(q.Mixes, path) {
				defer q.Done()
			}
			in, err := r.Read(ctx, path)
			if err != nil {
				return nil, err
			}
			return in.Mix()
		},
		Judge: func(mix, before *measure.Recording, references []*measure.Recording) (*match.Result, *match.Check, error) {
			now, then, err := judge(q.Options, mix, before, references)
			if err != nil {
				return nil, nil, err
			}
			return now.Moves(), now.Check(then), nil
		},
	}
	if q.Pages {
		work.Keep = func(row *class.Row, result *match.Result) error {
			sheets[row.Number] = report.HandoutPages(result, q.Page)
			return nil
		}
	}
	table, err := Interruptible(ctx, func() (*class.Table, error) { return class.Run(ctx, work) })
	if err != nil {
		return nil, err
	}
	if q.ByDistance {
		table.ByDistance()
	}
	out := &ClassOutcome{Table: table}
	for _, row := range table.Rows {
		if page := sheets[row.Number]; page != nil {
			last := page[len(page)-1]
			last.Paragraphs = slices.Insert(last.Paragraphs, 1, plots.Paragraph{Heading: "In the class", Text: table.Standing(row)})
			out.Pages = append(out.Pages, ClassPage{row.Name, page})
		}
	}
	return out, nil
}
