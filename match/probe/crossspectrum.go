package probe

import (
	"context"
	"iter"
	"math"
	"math/cmplx"

	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
)

// crossSpectrum holds spectra summed over windows, per bin: of the two front channels together,
// and of each alone.
type crossSpectrum struct {
	n       int
	windows int // per channel
	clipped int // clipped places in the second source minus those in the first
	binHz   float64
	spectra
	sides []spectra // one or two
}

type spectra struct {
	xx, yy []float64
	xy     []complex128
}

func newSpectra(n int) spectra {
	return spectra{make([]float64, n), make([]float64, n), make([]complex128, n)}
}

func newCrossSpectrum(ctx context.Context, before, after func() (audio.Source, error), lag, rateHz int) (*crossSpectrum, error) {
	a, err := before()
	if err != nil {
		return nil, err
	}
	defer a.Close()
	b, err := after()
	if err != nil {
		return nil, err
	}
	defer b.Close()
	n := spectrum.TransformLength(int(windowSec * float64(rateHz)))
	c := &crossSpectrum{n: n, binHz: float64(rateHz) / float64(n), spectra: newSpectra(n / 2)}
	window := make([]float64, n)
	for i := range window {
		window[i] = (1 - math.Cos(2*math.Pi*float64(i)/float64(n))) / 2
	}
	plan, z := spectrum.NewTransform(n), make([]complex128, n)
	x, y := newQueue(ctx, a, max(0, -lag)), newQueue(ctx, b, max(0, lag))
	defer x.stop()
	defer y.stop()
	defer func() { c.clipped = y.clipped - x.clipped }()
	pairs := min(2, a.Format().Channels, b.Format().Channels)
	for range pairs {
		c.sides = append(c.sides, newSpectra(n/2))
	}
	for {
		if more, err := x.fill(n); err != nil || !more {
			return c, err
		}
		if more, err := y.fill(n); err != nil || !more {
			return c, err
		}
		for ch := range pairs {
			for i := range z {
				z[i] = complex(window[i]*x.held[ch][i], window[i]*y.held[ch][i])
			}
			plan.Forward(z)
			c.add(ch, z)
		}
		c.windows++
		x.drop(n / 2)
		y.drop(n / 2)
	}
}

// add separates the transform of x + iy: X[k] = (Z[k] + Z*[N−k])/2, Y[k] = (Z[k] − Z*[N−k])/2i.
func (c *crossSpectrum) add(channel int, z []complex128) {
	for k := 1; k < c.n/2; k++ {
		u, v := z[k], cmplx.Conj(z[c.n-k])
		X, Y := (u+v)/2, (u-v)/2i
		for _, s := range []*spectra{&c.spectra, &c.sides[channel]} {
			s.xx[k] += power(X)
			s.yy[k] += power(Y)
			s.xy[k] += cmplx.Conj(X) * Y
		}
	}
}

// queue buffers as much of a source as one window needs.
type queue struct {
	next    func() ([][]float64, error, bool)
	stop    func()
	skip    int
	clipped int // places where the sound stays at full scale
	runs    []clipping
	held    [][]float64
}

func newQueue(ctx context.Context, src audio.Source, skip int) *queue {
	channels := src.Format().Channels
	q := &queue{skip: skip, held: make([][]float64, channels), runs: make([]clipping, channels)}
	q.next, q.stop = iter.Pull2(audio.Blocks(ctx, src))
	return q
}

func (q *queue) fill(n int) (more bool, err error) {
	for len(q.held[0]) < n {
		block, err, more := q.next()
		if err != nil || !more {
			return false, err
		}
		from := min(q.skip, len(block[0]))
		q.skip -= from
		for ch, x := range block {
			q.held[ch] = append(q.held[ch], x[from:]...)
			for _, v := range x[from:] {
				if q.runs[ch].add(v) {
					q.clipped++
				}
			}
		}
	}
	return true, nil
}

func (q *queue) drop(n int) {
	for ch, x := range q.held {
		q.held[ch] = x[:copy(x, x[n:])]
	}
}
