package multitrack

import (
	"context"
	"math"

	"toneplumb/spectrum/audio"
)

// Shifted returns an opener that starts some recordings later or earlier: those that run
// so many frames late lose as many at their start, those that run early begin with silence.
func Shifted(open Opener, lateFrames map[string]int) Opener {
	if len(lateFrames) == 0 {
		return open
	}
	return func(ctx context.Context, path string) (audio.Source, error) {
		src, err := open(ctx, path)
		if late := lateFrames[path]; err == nil && late != 0 {
			return &shifted{Source: src, drop: max(late, 0), silence: max(-late, 0)}, nil
		}
		return src, err
	}
}

type shifted struct {
	audio.Source
	drop, silence int
}

func (s *shifted) Format() audio.Format {
	f := s.Source.Format()
	if f.Frames >= 0 {
		f.Frames = max(0, f.Frames+int64(s.silence-s.drop))
	}
	return f
}

func (s *shifted) Read(dst [][]float64) (int, error) {
	if s.silence > 0 {
		n := min(s.silence, len(dst[0]))
		for _, x := range dst {
			clear(x[:n])
		}
		s.silence -= n
		return n, nil
	}
	for s.drop > 0 {
		n, err := s.Source.Read(firstOf(dst, min(s.drop, len(dst[0]))))
		s.drop -= n
		if err != nil {
			return 0, err
		}
	}
	return s.Source.Read(dst)
}

const (
	// mostShiftSec is the longest delay that is made good. Our choice: of plug-ins and
	// buffers, not another start.
	mostShiftSec = 0.1
	// leastShiftSec is the shortest: sound takes as long for a third of a metre, and a
	// track a little late still runs with its lows. Our choice.
	leastShiftSec = 0.001
	// alikeLate is how like track and mix are without the lag, of what they are with it,
	// to be called late; and alikeInTime with it. Our choice.
	alikeLate, alikeInTime = 0.8, 0.95
)

// Realign reads again what runs up to 0.1 s late or early, shifted to run with the mix, and
// takes that for it where the two then run together: Track.ShiftedSec says by how much.
// It returns their shifts, by path, for [Shifted].
func (t *Table) Realign(ctx context.Context, open Opener, mix string, goroutines int) (lateFrames map[string]int, err error) {
	late := map[string]int{}
	var paths []string
	for _, x := range t.Tracks {
		if sec := math.Abs(float64(x.LagFrames)) / t.RateHz; x.WithoutLag < alikeLate && sec >= leastShiftSec && sec <= mostShiftSec {
			late[x.Path] = x.LagFrames
			paths = append(paths, x.Path)
		}
	}
	if len(paths) == 0 {
		return nil, nil
	}
	again, err := Measure(ctx, Shifted(open, late), mix, t.Gate, paths, goroutines)
	if err != nil {
		return nil, err
	}
	for _, y := range again.Tracks {
		for i := range t.Tracks {
			x := &t.Tracks[i]
			if x.Path != y.Path {
				continue
			}
			if y.WithoutLag < alikeInTime || total(y.Re) <= total(x.Re) {
				delete(late, x.Path)
				continue
			}
			y.ShiftedSec = float64(late[x.Path]) / t.RateHz
			*x = y
		}
	}
	return late, nil
}

func total(x []float64) (sum float64) {
	for _, v := range x {
		sum += v
	}
	return sum
}
