package lesson

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
)

// Through is what a piece of music went through between two bounces.
type Through struct {
	RateHz   int
	LagSec   float64 // by how much the second bounce starts later
	Inverted bool
	Windows  int // of spectra that were averaged
	Clipped  int // places where the second bounce stays at full scale, those of the first taken off; 0 at least

	// GotDB and AskedDB are the gains in the bands of spectrum, level included; LeftOut
	// says why a band is not judged, and GotDB is NaN there.
	GotDB, AskedDB []float64
	LeftOut        []string

	Moves   []MoveGot
	TrimDB  float64 // asked
	LevelDB float64 // got

	WorstDB, WorstHz float64 // the largest deviation of judged bands, level taken off
}

// MoveGot is a move as it was asked for and as it is in the music. A cut's Got is what
// was asked: it is taken for right.
type MoveGot struct{ Asked, Got biquad.Filter }

// ErrOtherMusic says that two bounces do not hold the same music.
var ErrOtherMusic = errors.New("are not the same music")

// Our choices.
const (
	excerptSec   = 30.0 // in which the lag is sought, from the first sound on
	soundLevel   = 0.003
	windowSec    = 1.0 // at least: what an equaliser rings on is short against it
	coherent     = 0.9 // median share of the second bounce that comes from the first
	surestDB     = 0.03
	weakestDB    = 70 // under the strongest band
	throughSmth  = 1.0 / 6
	leastWindows = 16
)

// NewThrough compares two bounces, before and after; each is opened twice. They need
// one sample rate. The response is the cross-spectrum over the spectrum of the first,
// both summed over Hann windows that overlap by half (periodic; P. D. Welch, 1967, and
// J. S. Bendat and A. G. Piersol, Random Data, chapter 6, from memory), so that what
// did not come from the first, as noise, falls out. What was asked is weighted by the
// same music: within a band a steep response is not taken for another.
func NewThrough(ctx context.Context, before, after func() (audio.Source, error), s *match.Settings) (*Through, error) {
	lag, inverted, rateHz, err := align(ctx, before, after)
	if err != nil {
		return nil, err
	}
	t := &Through{RateHz: rateHz, LagSec: float64(lag) / float64(rateHz), Inverted: inverted, TrimDB: s.TrimDB}
	for i, f := range s.Moves {
		if err := f.Check(float64(rateHz)); err != nil {
			return nil, fmt.Errorf("have a rate at which move %d cannot be set: %w", i+1, err)
		}
	}
	c, err := crossed(ctx, before, after, lag, rateHz)
	if err != nil {
		return nil, err
	}
	t.Windows, t.Clipped = c.windows, max(0, c.clipped)
	if c.windows < leastWindows {
		return nil, fmt.Errorf("%w long enough: %d windows of %.1f s overlap, %d are needed", ErrOtherMusic, c.windows, float64(c.n)/float64(rateHz), leastWindows)
	}
	if err := t.judge(c, s); err != nil {
		return nil, err
	}
	t.refine(s)
	return t, nil
}

// excerpt reads the front pair as one channel. Our choice: the right at half its level,
// so that neither equal nor opposed channels vanish.
func excerpt(ctx context.Context, open func() (audio.Source, error), from int) (x []float64, start, rateHz int, err error) {
	src, err := open()
	if err != nil {
		return nil, 0, 0, err
	}
	defer src.Close()
	rateHz = src.Format().RateHz
	most := int(excerptSec * float64(rateHz))
	block := audio.NewBlock(src.Format().Channels, 1<<14)
	start = from
	for at := 0; len(x) < most; {
		if err := ctx.Err(); err != nil {
			return nil, 0, 0, err
		}
		n, err := src.Read(block)
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, 0, 0, err
		}
		for i := range n {
			v := block[0][i]
			if len(block) > 1 {
				v += block[1][i] / 2
			}
			if start < 0 && math.Abs(v) > soundLevel {
				start = at + i
			}
			if start >= 0 && at+i >= start && len(x) < most {
				x = append(x, v)
			}
		}
		at += n
	}
	return x, start, rateHz, nil
}

// align finds by how many frames the second bounce is later, and whether it is turned
// over: where the spectra's phases agree most, between 50 Hz and 10 kHz (the phase
// transform: C. H. Knapp and G. C. Carter, 1976, from memory).
func align(ctx context.Context, before, after func() (audio.Source, error)) (lag int, inverted bool, rateHz int, err error) {
	x, start, rateHz, err := excerpt(ctx, before, -1)
	if err != nil {
		return 0, false, 0, err
	}
	y, _, rate2, err := excerpt(ctx, after, max(start, 0))
	if err != nil {
		return 0, false, 0, err
	}
	switch {
	case rateHz != rate2:
		return 0, false, 0, fmt.Errorf("%w as they stand: they have %d and %d Hz", ErrOtherMusic, rateHz, rate2)
	case rateHz < 8000 || rateHz > 192000:
		return 0, false, 0, fmt.Errorf("have a sample rate of %d Hz, not between 8000 and 192000", rateHz)
	case len(x) == 0 || len(y) == 0:
		return 0, false, 0, fmt.Errorf("%w: one is silent", ErrOtherMusic)
	}
	n := spectrum.TransformLength(max(len(x), len(y)) * 4 / 3)
	plan := spectrum.NewTransform(n)
	X, Y := make([]complex128, n), make([]complex128, n)
	for i, v := range x {
		X[i] = complex(v, 0)
	}
	for i, v := range y {
		Y[i] = complex(v, 0)
	}
	plan.Forward(X)
	plan.Forward(Y)
	bin := float64(rateHz) / float64(n)
	for k := range Y {
		hz := bin * float64(min(k, n-k))
		p := math.Sqrt(power(X[k]) * power(Y[k]))
		if hz < 50 || hz > 10000 || p == 0 {
			Y[k] = 0
			continue
		}
		Y[k] *= conj(X[k]) / complex(p, 0)
	}
	plan.Inverse(Y)
	for i, v := range Y {
		if math.Abs(real(v)) > math.Abs(real(Y[lag])) {
			lag = i
		}
	}
	inverted = real(Y[lag]) < 0
	if lag > n/2 {
		lag -= n
	}
	return lag, inverted, rateHz, nil
}

// crossing holds spectra summed over windows and the front pair, per bin.
type crossing struct {
	n       int
	windows int // of one channel
	clipped int // places in the second source less those in the first
	binHz   float64
	xx, yy  []float64
	xy      []complex128
}

func crossed(ctx context.Context, before, after func() (audio.Source, error), lag, rateHz int) (*crossing, error) {
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
	c := &crossing{n: n, binHz: float64(rateHz) / float64(n), xx: make([]float64, n/2), yy: make([]float64, n/2), xy: make([]complex128, n/2)}
	window := make([]float64, n)
	for i := range window {
		window[i] = (1 - math.Cos(2*math.Pi*float64(i)/float64(n))) / 2
	}
	plan, z := spectrum.NewTransform(n), make([]complex128, n)
	x, y := &queue{src: a, skip: max(0, -lag)}, &queue{src: b, skip: max(0, lag)}
	defer func() { c.clipped = y.clipped - x.clipped }()
	pairs := min(2, a.Format().Channels, b.Format().Channels)
	for {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
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
			c.add(z)
		}
		c.windows++
		x.drop(n / 2)
		y.drop(n / 2)
	}
}

// add takes the transform of x + iy apart: X[k] = (Z[k] + Z*[N−k])/2, Y[k] = (Z[k] − Z*[N−k])/2i.
func (c *crossing) add(z []complex128) {
	for k := 1; k < c.n/2; k++ {
		u, v := z[k], conj(z[c.n-k])
		X, Y := (u+v)/2, (u-v)/2i
		c.xx[k] += power(X)
		c.yy[k] += power(Y)
		c.xy[k] += conj(X) * Y
	}
}

// queue holds as much of a source as a window needs.
type queue struct {
	src     audio.Source
	skip    int
	clipped int // places where the sound stays at full scale
	runs    []int
	held    [][]float64
	block   [][]float64
}

func (q *queue) fill(n int) (more bool, err error) {
	if q.block == nil {
		q.block = audio.NewBlock(q.src.Format().Channels, 1<<14)
		q.held, q.runs = make([][]float64, len(q.block)), make([]int, len(q.block))
	}
	for len(q.held[0]) < n {
		got, err := q.src.Read(q.block)
		if err == io.EOF {
			return false, nil
		}
		if err != nil {
			return false, err
		}
		from := min(q.skip, got)
		q.skip -= from
		for ch := range q.held {
			q.held[ch] = append(q.held[ch], q.block[ch][from:got]...)
			for _, v := range q.block[ch][from:got] {
				if math.Abs(v) < clipLevel {
					q.runs[ch] = 0
				} else if q.runs[ch]++; q.runs[ch] == clipRun {
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

// judge takes the bands from the bins: of each, the power that came through weighted by
// the music's own, Σ|Sxy|²/Sxx over ΣSxx, beside Σ Sxx·|H|² over ΣSxx of what was asked.
func (t *Through) judge(c *crossing, s *match.Settings) error {
	hz := make([]float64, len(c.xx))
	for k := range hz {
		hz[k] = c.binHz * float64(k)
	}
	rate := float64(t.RateHz)
	asked := biquad.ResponseDB(nil, s.Moves, hz[1:], rate)
	centres := spectrum.Centres()
	got, want, sure, level := make([]float64, len(centres)), make([]float64, len(centres)), make([]float64, len(centres)), make([]float64, len(centres))
	var share []float64
	strongest := math.Inf(-1)
	for b := range centres {
		from := int(math.Ceil(spectrum.EdgeHz(b) / c.binHz))
		to := int(spectrum.EdgeHz(b+1) / c.binHz)
		if to-from < 2 { // narrow bands borrow from beside them
			from = int(math.Round(centres[b]/c.binHz)) - 1
			to = from + 2
		}
		level[b] = math.Inf(-1)
		if to >= len(hz) || centres[b] > 0.45*rate {
			continue
		}
		var xx, yy, through, ask float64
		for k := from; k <= to; k++ {
			xx += c.xx[k]
			yy += c.yy[k]
			if c.xx[k] > 0 {
				through += power(c.xy[k]) / c.xx[k]
			}
			ask += c.xx[k] * spectrum.DBToPower(asked[k-1])
		}
		level[b] = powerDB(xx / float64(to-from+1) * centres[b])
		strongest = math.Max(strongest, level[b])
		got[b], want[b] = powerDB(through/xx), powerDB(ask/xx)+s.TrimDB
		coherence := through / yy
		n := float64(c.windows * (to - from + 1))
		sure[b] = 20 / math.Ln10 * math.Sqrt(math.Max(0, 1-coherence)/(2*coherence*n))
		if xx > 0 && yy > 0 {
			share = append(share, coherence)
		}
	}
	slices.Sort(share)
	if len(share) == 0 || share[len(share)/2] < coherent {
		return ErrOtherMusic
	}
	t.LeftOut, t.GotDB = make([]string, len(centres)), make([]float64, len(centres))
	t.AskedDB = biquad.ResponseDB(nil, s.Moves, centres, rate)
	off, out := make([]float64, len(centres)), make([]bool, len(centres))
	for b := range centres {
		t.AskedDB[b] += s.TrimDB
		switch {
		case math.IsInf(level[b], -1):
			t.LeftOut[b] = "outside the recording"
		case level[b] < strongest-weakestDB:
			t.LeftOut[b] = "hardly any music"
		case !(sure[b] <= surestDB):
			t.LeftOut[b] = "too much else in it"
		default:
			off[b] = got[b] - want[b]
			continue
		}
		out[b] = true
	}
	off = spectrum.NewSmoother(out, throughSmth).Smooth(nil, off)
	for b := range off {
		t.GotDB[b] = t.AskedDB[b] + off[b]
		if out[b] {
			t.GotDB[b] = math.NaN()
		}
	}
	return nil
}

// refine finds the moves that the music went through, near those that were asked.
func (t *Through) refine(s *match.Settings) {
	c := curve{freqHz: spectrum.Centres(), db: slices.Clone(t.GotDB), rateHz: float64(t.RateHz), weight: make([]float64, len(t.GotDB))}
	var cuts, moves []biquad.Filter
	for _, f := range s.Moves {
		if f.Shape.IsCut() {
			cuts = append(cuts, f)
		} else {
			moves = append(moves, f)
		}
	}
	taken := biquad.ResponseDB(nil, cuts, c.freqHz, c.rateHz)
	for b, why := range t.LeftOut {
		if c.db[b] -= taken[b]; why == "" && taken[b] > -30 {
			c.weight[b] = 1
		} else {
			c.db[b] = 0
		}
	}
	got, level, _ := c.refine(moves)
	t.LevelDB = level
	for _, f := range s.Moves {
		m := MoveGot{Asked: f, Got: f}
		if !f.Shape.IsCut() {
			m.Got, got = got[0], got[1:]
		}
		t.Moves = append(t.Moves, m)
	}
	for b, why := range t.LeftOut {
		if d := t.GotDB[b] - t.AskedDB[b] - (t.LevelDB - t.TrimDB); why == "" && math.Abs(d) > math.Abs(t.WorstDB) {
			t.WorstDB, t.WorstHz = d, c.freqHz[b]
		}
	}
}
