package job

import (
	"bytes"
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

	Sheets bool // whether to return a page of each mix as figures, for one document
	Alone  bool // whether to return a page of each mix as a document of its own
	Page   report.HandoutOptions
	Done   func() // called after each mix, by several goroutines; may be nil
}

// ClassPage is the page of one mix to hand out.
type ClassPage struct {
	Name   string          // of its row
	Sheets []*plots.Figure // nil if not requested
	Alone  []byte          // the page as a PDF document; nil if not requested
}

// ClassOutcome is the table, and the pages in the order of its rows.
type ClassOutcome struct {
	*class.Table
	Pages []ClassPage // of the mixes that could be read; none if not requested
}

// Class carries out a [ClassRequest]. The row of a mix that cannot be read says why.
func (r Reader) Class(ctx context.Context, q ClassRequest) (*ClassOutcome, error) {
	kept := make([]*ClassPage, len(q.Mixes)+1) // by the row's number; each is written by one goroutine
	work := class.Job{
		Mixes: q.Mixes, Before: q.Before, References: q.References, Plain: q.Plain, WithinDB: q.WithinDB,
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
			c, err := CompareNamed(q.Options, mix, references)
			if err != nil {
				return nil, nil, err
			}
			if before == nil {
				return c.Moves(), c.Check(nil), nil
			}
			earlier := q.Options
			earlier.Previous = nil // it was bounced before them
			then, err := CompareNamed(earlier, before, references)
			if err != nil {
				return nil, nil, err
			}
			return c.Moves(), c.Check(then), nil
		},
	}
	if q.Sheets || q.Alone {
		work.Keep = func(row *class.Row, result *match.Result) error {
			kept[row.Number] = &ClassPage{Name: row.Name, Sheets: report.HandoutPages(result, q.Page)}
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
		if page := kept[row.Number]; page != nil {
			if err := page.finish(table, row, q); err != nil {
				return nil, err
			}
			out.Pages = append(out.Pages, *page)
		}
	}
	return out, nil
}

// finish adds to the last sheet how the mix stands in the class, and keeps what was asked for.
func (p *ClassPage) finish(t *class.Table, row class.Row, q ClassRequest) error {
	last := p.Sheets[len(p.Sheets)-1]
	last.Paragraphs = slices.Insert(last.Paragraphs, 1, plots.Paragraph{Heading: "In the class", Text: t.Standing(row)})
	if q.Alone {
		var alone bytes.Buffer
		if err := plots.WritePDF(&alone, p.Sheets...); err != nil {
			return err
		}
		p.Alone = alone.Bytes()
	}
	if !q.Sheets {
		p.Sheets = nil
	}
	return nil
}
