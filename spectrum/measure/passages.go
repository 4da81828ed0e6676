package measure

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/floats"

	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/loudness"
)

// Passages are parts of a recording, each from and to in seconds, in order and not
// overlapping.
type Passages [][2]float64

// String returns them as times: "0:45-1:30, 2:00-2:40".
func (p Passages) String() string {
	var all []string
	for _, s := range p {
		all = append(all, audio.Clock(s[0])+"-"+audio.Clock(s[1]))
	}
	return strings.Join(all, ", ")
}

// Sec returns their total length in seconds.
func (p Passages) Sec() float64 {
	sec := 0.0
	for _, s := range p {
		sec += s[1] - s[0]
	}
	return sec
}

// Contains reports whether a time in seconds is in the passages.
func (p Passages) Contains(sec float64) bool {
	for _, s := range p {
		if sec >= s[0] && sec < s[1] {
			return true
		}
	}
	return false
}

// share returns the share, 0 to 1, of the seconds from … to that is in the passages; 1 if p
// is nil.
func (p Passages) share(from, to int) float64 {
	if p == nil {
		return 1
	}
	sum := 0.0
	for _, s := range p {
		sum += max(0, min(s[1], float64(to))-max(s[0], float64(from)))
	}
	return sum / float64(to-from)
}

// Part returns the recording with only some passages counted. It shares the table of r. In
// a profile the passages are widened to whole rows. The error is an [*audio.Error]: the
// passages have less than [MinSec] of music, or are silent.
func (r *Recording) Part(p Passages) (*Recording, error) {
	part := *r
	part.Counted = p
	if part.StepPower == nil {
		part.Counted = p.wholeRows(r.RowSec, r.DurationSec)
	}
	if sec := part.MusicSec(); sec < MinSec {
		return nil, &audio.Error{Kind: finding.TooLittleMusic, Path: r.Path,
			Problem: fmt.Sprintf("has %.1f s of music in %s; at least %d s are needed", sec, p, MinSec),
			Hint:    fmt.Sprintf("it lasts %s; choose a longer part, or a louder one", audio.Clock(r.DurationSec))}
	}
	part.LoudnessLUFS = r.partLUFS(part.Counted)
	if math.IsInf(part.LoudnessLUFS, 0) || math.IsNaN(part.LoudnessLUFS) {
		return nil, &audio.Error{Kind: finding.NoSound, Path: r.Path,
			Problem: fmt.Sprintf("is silent in %s", p), Hint: "choose a louder part"}
	}
	return &part, nil
}

// partLUFS returns the loudness of passages of r; nil for all of it.
func (r *Recording) partLUFS(p Passages) float64 {
	part := *r
	part.Counted = p
	if part.StepPower != nil {
		return loudness.Integrated(part.countedSteps())
	}
	return r.LoudnessLUFS + part.rowsLUFS() - r.rowsLUFS()
}

// Extended returns the passages with one more, which starts no sooner than the last. The two become one if they meet.
func (p Passages) Extended(from, to float64) Passages {
	if n := len(p); n > 0 && from <= p[n-1][1] {
		p[n-1][1] = max(to, p[n-1][1])
		return p
	}
	return append(p, [2]float64{from, to})
}

// wholeRows returns the passages widened to borders of rows, joined where they meet.
func (p Passages) wholeRows(rowSec int, endSec float64) Passages {
	var wide Passages
	row := float64(rowSec)
	for _, s := range p {
		from, to := math.Floor(s[0]/row)*row, min(math.Ceil(s[1]/row)*row, endSec)
		wide = wide.Extended(from, to)
	}
	return wide
}

// rowsLUFS returns the loudness in LUFS of the counted rows, computed from their mean
// spectrum.
func (r *Recording) rowsLUFS() float64 {
	k := loudness.Weighting(spectrum.Centres(), float64(r.Format.RateHz))
	return loudness.LUFS(floats.Dot(k, r.MeanPower(r.GateWeights())))
}

// Loudest returns the loudest passages, at least sec seconds in total, in blocks of
// [BlockSec] from the start; the whole recording if it is shorter. Music is loudest where
// all instruments play, and there two songs have most in common.
func (r *Recording) Loudest(sec float64) Passages {
	k := loudness.Weighting(spectrum.Centres(), float64(r.Format.RateHz))
	blocks := r.Blocks(r.GateWeights(), 0, BlockSec/r.RowSec)
	order := make([]int, len(blocks))
	loud := make([]float64, len(blocks))
	for i, b := range blocks {
		order[i] = i
		loud[i] = floats.Dot(k, b.Power)
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(loud[b], loud[a]) })
	taken := make([]bool, len(blocks))
	have := 0.0
	for _, i := range order {
		if have >= sec {
			break
		}
		taken[i] = true
		have += min(BlockSec, r.DurationSec-float64(i*BlockSec))
	}
	var p Passages
	for i, yes := range taken {
		if yes {
			p = p.Extended(float64(i*BlockSec), min(float64((i+1)*BlockSec), r.DurationSec))
		}
	}
	return p
}
