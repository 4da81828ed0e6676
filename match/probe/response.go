package probe

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"toneplumb/spectrum"
)

// Response is the frequency response of an equaliser, with facts about its print.
type Response struct {
	RateHz   int
	LagSec   float64 // how much later the probe is than in its own file
	Inverted bool    // the polarity is inverted
	NoiseDB  float64 // level of the silence between the first mark and the sweep, against the probe

	// DB is the gain at each of FreqHz, overall level included.
	FreqHz, DB []float64
}

// Reasons why a print cannot be read; each continues a file name in the error a person sees.
var (
	ErrClipped   = errors.New("is clipped")
	ErrNoProbe   = errors.New("does not hold the probe")
	ErrCutShort  = errors.New("does not hold the whole probe")
	ErrDistorted = errors.New("is distorted")
	ErrSides     = errors.New("has two different sides")
)

// Limits of a clean print. Our choice.
const (
	clipLevel = 0.9999 // of full scale; 16-bit files end at 0.99997
	clipRun   = 3      // frames in a row: no sweep below −6 dBFS stays there
	// heardShare is the least share of the energy within the impulse response: with music it is
	// below 0.1, with noise 20 dB under the probe above 0.9.
	heardShare = 0.5
	// distortionDB is the largest level of the second and third harmonics: 1 %, ten times what an
	// equaliser that models a circuit adds at this level (common practice, no source).
	distortionDB = -40
	sidesDB      = 0.2  // largest difference between left and right, at any frequency
	beforeSec    = 0.5  // of the impulse response, half of it a fade: the sweep has nothing below 10 Hz, and that edge rings in both directions
	afterSec     = 1.0  // its last quarter fades; the second harmonic comes 1.08 s early at 44.1 kHz
	regular      = 1e-5 // of the probe's power near the top: 0.0001 dB
)

// Reader reads prints of one probe. It keeps the probe's transform between prints, so it is not
// safe for concurrent use.
type Reader struct {
	Probe Probe
	last  *deconvolver
}

// Read finds the probe in a print and returns its response from 20 Hz to 0.45 times the lower rate
// in steps of 1/24 octave. sound is one slice per channel at rateHz, full scale ±1. The spectrum is
// divided by the probe's. From the resulting impulse response, what comes before (the harmonics of
// a sweep come early) and long after is removed. If the print is not clean, the error is one of
// those above.
func (r *Reader) Read(sound [][]float64, rateHz int) (*Response, error) {
	p := r.Probe
	if rateHz < 8000 || rateHz > 192000 {
		return nil, fmt.Errorf("has a sample rate of %d Hz, not between 8000 and 192000", rateHz)
	}
	frames := 0
	if len(sound) > 0 {
		frames = len(sound[0])
	}
	if frames == 0 || frames > 4*int(ProbeSec)*rateHz {
		return nil, fmt.Errorf("%w: it lasts %.1f s and the probe %.1f", ErrNoProbe, float64(frames)/float64(rateHz), ProbeSec)
	}
	for _, x := range sound {
		run := clipping(0)
		if at := slices.IndexFunc(x, run.add); at >= 0 {
			return nil, fmt.Errorf("%w at %.1f s", ErrClipped, float64(at-clipRun+1)/float64(rateHz))
		}
	}
	out := &Response{RateHz: rateHz, FreqHz: p.bandsHz(rateHz), NoiseDB: math.Inf(-1)}
	out.DB = make([]float64, len(out.FreqHz))
	n := spectrum.TransformLength(len(sound[0]) + 3*rateHz) // what wraps around falls into silence
	if r.last == nil || r.last.n != n || r.last.rateHz != float64(rateHz) {
		r.last = p.spectrum(rateHz, n)
	}
	var sides [][]float64
	for _, x := range sound[:min(2, len(sound))] {
		if silent(x) {
			continue
		}
		db, err := out.channel(p, r.last, x)
		if err != nil {
			return nil, err
		}
		sides = append(sides, db)
	}
	if len(sides) == 0 {
		return nil, fmt.Errorf("%w: it is silent", ErrNoProbe)
	}
	for _, db := range sides {
		for i, v := range db {
			if d := math.Abs(v - sides[0][i]); d > sidesDB {
				return nil, fmt.Errorf("%w: left and right are %.1f dB apart at %.0f Hz", ErrSides, d, out.FreqHz[i])
			}
			out.DB[i] += v / float64(len(sides))
		}
	}
	return out, nil
}

// silent reports whether there is no more than dither, −100 dBFS.
func silent(x []float64) bool { return floats.Norm(x, math.Inf(1)) <= 1e-5 }

// clipping is how many samples in a row are at full scale.
type clipping int

// add takes the next sample, and reports whether the sound is clipped from clipRun−1 samples before it on.
func (run *clipping) add(v float64) bool {
	if *run++; math.Abs(v) < clipLevel {
		*run = 0
	}
	return *run == clipRun
}

// bandsHz returns the frequencies of a response: 24 per octave from 20 Hz to 0.45 of the lower
// rate, where a resampler is still flat.
func (p Probe) bandsHz(rateHz int) []float64 {
	top := 0.45 * float64(min(rateHz, p.RateHz))
	var hz []float64
	for b := range spectrum.BandCount {
		if f := spectrum.CentreHz(b); f <= top {
			hz = append(hz, f)
		}
	}
	return hz
}

// channel reads one channel and returns its levels in dB.
func (out *Response) channel(p Probe, r *deconvolver, x []float64) ([]float64, error) {
	h := r.divide(x, p.topHz())
	lag, total := peakAt(h), 0.0
	for _, v := range h {
		total += real(v) * real(v)
	}
	signed := lag
	if lag > len(x) {
		signed -= r.n
	}
	before, after := int(beforeSec*r.rateHz), int(afterSec*r.rateHz)
	part := make([]complex128, spectrum.TransformLength(before+after))
	main := 0.0
	for i := -before; i < after; i++ {
		v := real(h[(lag+i+r.n)%r.n])
		main += v * v
		edge := fade(float64(i+before) / (0.5 * float64(before)))
		edge *= fade(float64(after-i) / (0.25 * float64(after)))
		part[(i+len(part))%len(part)] = complex(v*edge, 0)
	}
	if !(main >= heardShare*total) {
		return nil, ErrNoProbe
	}
	start := float64(signed) / r.rateHz
	if lost := endSec + start - float64(len(x))/r.rateHz; lost > 0 {
		return nil, fmt.Errorf("%w: its last %.1f s are missing", ErrCutShort, lost)
	}
	if start < -firstMarkSec {
		return nil, fmt.Errorf("%w: its first %.1f s are missing", ErrCutShort, -start)
	}
	for _, m := range []float64{firstMarkSec, secondMarkSec} {
		if !r.marked(x, start+m) {
			return nil, fmt.Errorf("%w: the level mark at %.1f s is missing", ErrCutShort, start+m)
		}
	}
	for order := 2.0; order <= 3; order++ {
		early := lag - int(math.Round(p.growSec()*math.Log(order)*r.rateHz))
		if db := r.around(h, early) - spectrum.PowerToDB(main); db > distortionDB {
			return nil, fmt.Errorf("%w: harmonic %.0f is %.0f dB under the sound", ErrDistorted, order, -db)
		}
	}
	out.LagSec, out.Inverted = start, real(h[lag]) < 0
	out.NoiseDB = max(out.NoiseDB, r.noise(x, start))
	plan := spectrum.NewTransform(len(part))
	plan.Forward(part)
	return levels(part, r.rateHz, out.FreqHz), nil
}

// smoothOct is the width in octaves over which the power of a response is averaged, to reduce
// noise. Our choice: it lowers a peak of 12 dB by 0.05 dB at Q 10 and by 0.002 dB at Q 2.
const smoothOct = 1.0 / 48

// levels returns the level of a spectrum at frequencies, in dB: the mean over smoothOct or, where
// that is less than five bins, a parabola through the three nearest.
func levels(X []complex128, rateHz float64, hz []float64) []float64 {
	db := make([]float64, len(hz))
	bin := rateHz / float64(len(X))
	mean := func(from, to int) float64 {
		sum := 0.0
		for _, z := range X[from : to+1] {
			sum += power(z)
		}
		return spectrum.PowerToDB(sum / float64(to+1-from))
	}
	for i, f := range hz {
		k := int(math.Round(f / bin))
		u := f/bin - float64(k)
		if m := int(f * (math.Pow(2, smoothOct/2) - 1) / bin); m >= 2 {
			slope := (mean(k+1, k+m) - mean(k-m, k-1)) / float64(m+1) // dB per bin
			db[i] = mean(k-m, k+m) + u*slope
			continue
		}
		a, b, c := mean(k-1, k-1), mean(k, k), mean(k+1, k+1)
		db[i] = b + u*(c-a)/2 + u*u*(a+c-2*b)/2
	}
	return db
}
