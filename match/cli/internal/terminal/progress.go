package terminal

import (
	"io"
	"sync"

	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"

	"toneplumb/match/report"
	"toneplumb/spectrum/audio"
)

// Progress shows on a terminal how far the reading of each file is; where stderr is
// none it is silent. What it drew is taken away again.
type Progress struct {
	container *mpb.Progress
	lock      sync.Mutex
	bars      []*mpb.Bar
}

// nameWidth is the room for what a bar is about.
const nameWidth = 24

func NewProgress(stderr io.Writer) *Progress {
	const columns = 72
	// Without the work's context: once that is done a container takes no more bars,
	// and panics when it gets one.
	return &Progress{container: mpb.New(mpb.WithOutput(stderr), mpb.WithWidth(columns))}
}

// Watch returns the source with a bar that follows its Read; the bar says how much
// of the recording is measured.
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

// keep notes a bar for end. One that has not come to its total would be waited for for
// ever: that of a recording which ends before it announced, or whose reading failed.
func (p *Progress) keep(bar *mpb.Bar) {
	p.lock.Lock()
	defer p.lock.Unlock()
	p.bars = append(p.bars, bar)
}

// End takes the bars away.
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

// Close takes the bar away too.
func (w *watched) Close() error {
	w.bar.Abort(true)
	return w.Source.Close()
}

// Count adds a bar of things done, which its Increment moves.
func (p *Progress) Count(of string, total int) *mpb.Bar {
	bar := p.container.AddBar(int64(total), mpb.BarPriority(-1),
		mpb.PrependDecorators(decor.Name(of, decor.WC{W: nameWidth + 1, C: decor.DindentRight})),
		mpb.AppendDecorators(decor.CountersNoUnit("%d of %d")))
	p.keep(bar)
	return bar
}
