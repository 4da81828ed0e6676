// Package align finds where one recording lies in another, by their levels over time.
//
// It builds on spectrum/measure; match uses it.
package align

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
)

// Two recordings are the same song if, at some lag, their octave levels move together: the
// median over octaves of their correlation exceeds sameSong. Our choice, measured at six
// steps a second: copies, delayed ones too, 0.93 to 1.00, with faders moved by 6 dB somewhat less;
// different songs up to 0.4.
const (
	sameSong = 0.8
	// A lag is searched first in whole seconds, where a copy half a second off still
	// correlates clearly, then refined.
	coarseSteps = spectrum.WindowsPerSecond
	// An overlap proves nothing below 30 s, or below half of a recording shorter than a
	// minute.
	minOverlapSec = 30
	// With fewer whole seconds than this the coarse search is skipped.
	minCoarseSteps = 10
	// An octave whose level hardly moves, or is silent, cannot be compared.
	minSpreadDB = 0.5
)

// Copy says whether two recordings are the same song, and at which lag: second s of the mix is
// second s − LagSec of the reference.
type Copy struct {
	Same   bool
	LagSec float64 // in steps of 1/spectrum.WindowsPerSecond; meaningless unless Same
}

// Levels reports whether two recordings are the same song, by the courses of their octave levels
// over time. mixGate and refGate are weights per second; only steps above 0 are compared. A
// recording without octave levels, which is a profile, gives the zero Copy.
func Levels(mix, ref *measure.Recording, mixGate, refGate []float64) Copy {
	if mix.OctavePower == nil || ref.OctavePower == nil {
		return Copy{} // a profile keeps no levels over time
	}
	a, b := newCourse(mix, mixGate), newCourse(ref, refGate)
	ca, cb := a.every(coarseSteps), b.every(coarseSteps)
	overlap := func(x, y *course, stepsPerSec int) int {
		return min(minOverlapSec*stepsPerSec, min(x.steps, y.steps)/2)
	}
	from, to := -b.steps, a.steps
	if min(ca.steps, cb.steps) >= minCoarseSteps {
		lag, _ := bestLag(ca, cb, -cb.steps, ca.steps, overlap(ca, cb, 1))
		from, to = (lag-1)*coarseSteps, (lag+1)*coarseSteps
	}
	fine, correlation := bestLag(a, b, from, to, overlap(a, b, spectrum.WindowsPerSecond))
	return Copy{Same: correlation > sameSong, LagSec: float64(fine) / spectrum.WindowsPerSecond}
}

// course holds a recording's octave levels over time, in single precision: an hour takes less
// than 1 MB.
type course struct {
	steps  int
	level  [measure.Octaves][]float32 // dB
	counts []bool                     // whether the step passes the gate
}

func newCourse(r *measure.Recording, gate []float64) *course {
	c := &course{steps: len(r.OctavePower) / measure.Octaves}
	c.counts = make([]bool, c.steps)
	for w := range c.counts {
		c.counts[w] = gate[min(int(spectrum.MiddleSec(w)), len(gate)-1)] > 0
	}
	for o := range c.level {
		c.level[o] = make([]float32, c.steps)
		for w := range c.level[o] {
			c.level[o][w] = float32(spectrum.PowerToDB(math.Max(float64(r.OctavePower[w*measure.Octaves+o]), 1e-20)))
		}
	}
	return c
}

// every returns the course in steps that are n times as long.
func (c *course) every(n int) *course {
	d := &course{steps: c.steps / n}
	d.counts = make([]bool, d.steps)
	for s := range d.counts {
		d.counts[s] = !slices.Contains(c.counts[s*n:(s+1)*n], false)
	}
	for o := range d.level {
		d.level[o] = make([]float32, d.steps)
		for s := range d.level[o] {
			sum := 0.0
			for _, level := range c.level[o][s*n : (s+1)*n] {
				sum += float64(level)
			}
			d.level[o][s] = float32(sum / float64(n))
		}
	}
	return d
}

// bestLag returns the lag in from…to with the largest median correlation of a with b delayed
// by it, and that correlation.
func bestLag(a, b *course, from, to, minOverlap int) (lag int, correlation float64) {
	correlation = -1
	var steps []int
	for l := from; l <= to; l++ {
		steps = sharedSteps(steps[:0], a, b, l)
		if c := medianCorrelation(a, b, l, steps, minOverlap); c > correlation {
			lag, correlation = l, c
		}
	}
	return lag, correlation
}

// sharedSteps appends the steps s for which a[s] and b[s−lag] both pass their gates.
func sharedSteps(steps []int, a, b *course, lag int) []int {
	for s := max(0, lag); s < min(a.steps, b.steps+lag); s++ {
		if a.counts[s] && b.counts[s-lag] {
			steps = append(steps, s)
		}
	}
	return steps
}

// medianCorrelation returns the median over octaves of the correlation of a[s] with b[s−lag]
// over the shared steps; −1 if there are fewer than minOverlap, or if fewer than half the
// octaves move.
func medianCorrelation(a, b *course, lag int, steps []int, minOverlap int) float64 {
	if len(steps) < max(minOverlap, 2) {
		return -1
	}
	var found []float64
	for o := range a.level {
		if c, ok := correlate(a.level[o], b.level[o], steps, lag); ok {
			found = append(found, c)
		}
	}
	if len(found) < measure.Octaves/2 {
		return -1
	}
	slices.Sort(found)
	return stat.Quantile(0.5, stat.Empirical, found, nil)
}

// correlate returns Pearson's correlation over the steps; ok is false if the standard deviation
// of either side is below minSpreadDB.
func correlate(x, y []float32, steps []int, lag int) (c float64, ok bool) {
	n := float64(len(steps))
	mx, my := 0.0, 0.0
	for _, s := range steps {
		mx += float64(x[s])
		my += float64(y[s-lag])
	}
	mx, my = mx/n, my/n
	xx, yy, xy := 0.0, 0.0, 0.0
	for _, s := range steps {
		dx, dy := float64(x[s])-mx, float64(y[s-lag])-my
		xx += dx * dx
		yy += dy * dy
		xy += dx * dy
	}
	if min(xx, yy) < n*minSpreadDB*minSpreadDB {
		return 0, false
	}
	return xy / math.Sqrt(xx*yy), true
}

// GateTogether returns the weights of both recordings for the seconds they share: each side's
// weight times the other's at the same moment of the song. So both means are over the same
// music, even where the two gates differ.
func GateTogether(mixGate, refGate []float64, lagSec float64) (mix, ref []float64) {
	mix, ref = make([]float64, len(mixGate)), make([]float64, len(refGate))
	for s, w := range mixGate {
		mix[s] = w * interpolate(refGate, float64(s)-lagSec)
	}
	for s, w := range refGate {
		ref[s] = w * interpolate(mixGate, float64(s)+lagSec)
	}
	return mix, ref
}

// interpolate returns x, linearly interpolated, at a fractional index; 0 outside.
func interpolate(x []float64, at float64) float64 {
	i := int(math.Floor(at))
	share := at - float64(i)
	value := 0.0
	if i >= 0 && i < len(x) {
		value = (1 - share) * x[i]
	}
	if i+1 >= 0 && i+1 < len(x) && share > 0 {
		value += share * x[i+1]
	}
	return value
}
