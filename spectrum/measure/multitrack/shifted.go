package multitrack

import (
	"context"
	"math"

	"gonum.org/v1/gonum/floats"

	"toneplumb/spectrum/audio"
)

// Shifted returns an opener that corrects the start of some recordings. lateFrames says, by
// path, how many frames each is late. A late one loses that many frames at its start; an
// early one (below 0) gets that much silence before it.
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
		n, err := s.Source.Read(audio.First(dst, min(s.drop, len(dst[0]))))
		s.drop -= n
		if err != nil {
			return 0, err
		}
	}
	return s.Source.Read(dst)
}

const (
	// mostShiftSec is the longest delay that is corrected. Our choice: delays of plug-ins and
	// buffers, not a different start.
	mostShiftSec = 0.1
	// leastShiftSec is the shortest delay that is corrected. Our choice: sound takes that
	// long for a third of a metre, and the lows of a track that is less late are still in
	// phase.
	leastShiftSec = 0.001
	// A track is late if its WithoutLag is below alikeLate, and realigned if it is at least
	// alikeInTime after the shift. Our choice.
	alikeLate, alikeInTime = 0.8, 0.95
)

// Realign reads tracks that seem to be 1 to 100 ms late or early again, shifted to run with
// the mix. If a shifted track fits the mix better, it replaces the track in t, and its
// ShiftedSec says by how much it was late. Realign returns the shifts that were kept, by
// path, for [Shifted]. The other arguments and the error are as for [Measure].
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
			if y.WithoutLag < alikeInTime || floats.Sum(y.Re) <= floats.Sum(x.Re) {
				delete(late, x.Path)
				continue
			}
			y.ShiftedSec = float64(late[x.Path]) / t.RateHz
			*x = y
		}
	}
	return late, nil
}
