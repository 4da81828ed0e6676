package terminal

import (
	"io"
	"sync"

	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"

	"toneplumb/match/report"
	"toneplumb/spectrum/audio"
)

// Progress shows on a terminal how far the reading of each file is. If stderr is not a terminal, it
// shows nothing. [Progress.End] removes what it drew.
type Progress struct {
	container *mpb.Progress
	lock      sync.Mutex
	bars      []*mpb.Bar
}

const nameWidth = 24 // the width of a bar's label in cells

// NewProgress returns a progress display on stderr; End must be called.
func NewProgress(stderr io.Writer) *Progress {
	const columns = 72
	// It does not get the work's context: once that is done, a container panics when it gets
	// another bar.
	return &Progress{container: mpb.New(mpb.WithOutput(stderr), mpb.WithWidth(columns))}
}

// Watch returns the source with a bar that advances with its Read and shows how much of the
// recording has been read.
func (p *Progress) Watch(src audio.Source, path string) audio.Source {
	total, rateHz := max(src.Format().Frames, 0), float64(src.Format().RateHz)
	bar := p.container.AddBar(total, mpb.BarRemoveOnComplete(),
		mpb.PrependDecorators(decor.Name(report.Shorten(report.Name(path), nameWidth), decor.WC{W: nameWidth + 1, C: decor.DindentRight})),
		mpb.AppendDecorators(decor.Any(func(s decor.Statistics) string {
			return audio.Clock(float64(s.Current) / rateHz) // not the source: a bar outlives it
		}, decor.WC{W: 8})))
	p.keep(bar)
	return &watched{Source: src, bar: bar}
}

// keep records a bar for End. Without that, Wait would wait forever for a bar that does not reach
// its total: of a recording that is shorter than announced, or whose reading failed.
func (p *Progress) keep(bar *mpb.Bar) {
	p.lock.Lock()
	defer p.lock.Unlock()
	p.bars = append(p.bars, bar)
}

func (p *Progress) End() {
	for _, bar := range p.bars {
		bar.Abort(true)
	}
	p.container.Wait()
}

type watched struct {
	audio.Source
	bar *mpb.Bar
}

func (w *watched) Read(dst [][]float64) (int, error) {
	n, err := w.Source.Read(dst)
	w.bar.IncrBy(n)
	return n, err
}

// Close also removes the bar.
func (w *watched) Close() error {
	w.bar.Abort(true)
	return w.Source.Close()
}

// Count adds a bar that counts things done; the caller calls its Increment for each.
func (p *Progress) Count(of string, total int) *mpb.Bar {
	bar := p.container.AddBar(int64(total), mpb.BarPriority(-1),
		mpb.PrependDecorators(decor.Name(of, decor.WC{W: nameWidth + 1, C: decor.DindentRight})),
		mpb.AppendDecorators(decor.CountersNoUnit("%d of %d")))
	p.keep(bar)
	return bar
}
