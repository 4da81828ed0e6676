// Package uncertainty estimates how sure the difference of two recordings is. It has three
// parts: the scatter over other stretches of the same music ([Measure], [Replicates],
// [JointHalves]: a bootstrap over blocks), the spread of other songs of a kind
// ([ReferenceSpread]), and how much of a difference is tone rather than arrangement
// ([TonePrior]).
//
// Curves are in dB with an entry for each band of package spectrum. Given the same
// recordings, every result is the same on every run.
//
// It builds on spectrum/measure and spectrum/align; match uses it.
package uncertainty

import (
	"math"

	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// The blocks of each recording are drawn anew, with replacement, and compared again. Source:
// the bootstrap of B. Efron, Ann. Statist. 7 (1979), 1–26 (from memory). Blocks are drawn rather
// than rows, since neighbouring seconds of music are alike.
const (
	replicates = 400
	// seed makes the draws the same on every run.
	seed = 1770
	// Factor95 is half the 95 % interval of a normal distribution, in standard deviations.
	// Measured on 166 songs whose pieces of 10, 14, 16 and 20 s go to mix and reference in
	// turn: 96.7, 96.6, 95.4 and 93.1 % are covered.
	Factor95 = 1.96
	// everyPoint is the step in judged bands between points of the covariance: a sixth of an
	// octave, half of what is smoothed over.
	everyPoint = 4
)

// Scatter is how the difference would scatter if the recordings held other stretches of the
// same music. It describes the smoothed difference with its mean over the judged bands removed.
type Scatter struct {
	Points []int         // every fourth judged band
	Cov    *mat.SymDense // covariance at the points, in dB²
	SDDB   []float64     // standard deviation per band; 0 where left out
	ZoneDB []float64     // standard deviation of each zone's mean; NaN if nothing is judged there
}

// MeanDB returns the root mean square of the standard deviations at the points, in dB.
func (s *Scatter) MeanDB() float64 {
	return math.Sqrt(mat.Trace(s.Cov) / float64(len(s.Points)))
}

// pooled returns the covariance of two points, regularised for small numbers of blocks. 9 to 25
// blocks span as many directions of some 52 points, and their own covariance shows no noise in
// all others. So half of it is replaced by a covariance between neighbours that keeps each
// point's own variance, σᵢ·σⱼ·exp(−½(Δoct/0.2)²). Our choice: shares from ¼ to ¾ and 0.1 to 0.3
// octaves do about as well.
func (s *Scatter) pooled(i, j int) float64 {
	apart := float64(s.Points[i]-s.Points[j]) / spectrum.BandsPerOctave / 0.2
	own := math.Sqrt(s.Cov.At(i, i) * s.Cov.At(j, j))
	return 0.5*s.Cov.At(i, j) + 0.5*own*math.Exp(-0.5*apart*apart)
}

// Covariance returns the pooled covariance at all points, in dB².
func (s *Scatter) Covariance() *mat.SymDense {
	cov := mat.NewSymDense(len(s.Points), nil)
	for i := range s.Points {
		for j := range i + 1 {
			cov.SetSym(i, j, s.pooled(i, j))
		}
	}
	return cov
}

// MeanSD returns the standard deviation of the mean over the points from lowHz to highHz, in dB;
// 0 if no point is there.
func (s *Scatter) MeanSD(lowHz, highHz float64) float64 {
	var in []int
	for i, b := range s.Points {
		if hz := spectrum.CentreHz(b); hz >= lowHz && hz <= highHz {
			in = append(in, i)
		}
	}
	sum := 0.0
	for _, i := range in {
		for _, j := range in {
			sum += s.Cov.At(i, j)
		}
	}
	return math.Sqrt(max(0, sum)) / float64(max(1, len(in)))
}

// Bands are the bands and zones to measure over. Slices have an entry for each band.
type Bands struct {
	Judged   spectrum.Judged
	LeftOut  []bool
	Smoother *spectrum.Smoother
	Zones    [][]int // the judged bands of each zone; may be empty
}

// Measure returns how the difference scatters over 400 draws of the pairs' blocks. The difference
// is the reference's level less the mix's, as the mean over pairs.
func Measure(pairs []Pair, over Bands) *Scatter {
	s := &Scatter{SDDB: make([]float64, spectrum.BandCount)}
	for i, b := range over.Judged.Bands(0, math.Inf(1)) {
		if i%everyPoint == 0 {
			s.Points = append(s.Points, b)
		}
	}
	mixDB, refDB := make([]float64, spectrum.BandCount), make([]float64, spectrum.BandCount)
	rows := Replicates(pairs, func(d *Draws) []float64 {
		difference := make([]float64, spectrum.BandCount)
		for i, p := range pairs {
			p.Mix.meanDB(mixDB, d.Mix[i])
			p.Reference.meanDB(refDB, d.Ref[i])
			for b := range difference {
				difference[b] += (refDB[b] - mixDB[b]) / float64(len(pairs))
			}
		}
		over.Smoother.Smooth(difference, difference)
		over.Judged.Centre(difference)
		return difference
	})
	// Draws of few or short blocks underestimate.
	factor, floorDB := smallSample(pairs)
	root := math.Sqrt(factor)
	values := make([]float64, len(rows))
	for b, left := range over.LeftOut {
		if !left {
			s.SDDB[b] = math.Hypot(root*stat.StdDev(column(values, rows, b), nil), floorDB)
		}
	}
	for _, in := range over.Zones {
		for k, row := range rows {
			values[k] = spectrum.MeanAt(row, in)
		}
		s.ZoneDB = append(s.ZoneDB, math.Hypot(root*stat.StdDev(values, nil), floorDB))
	}
	s.Cov = covariance(rows, s.Points)
	s.Cov.ScaleSym(factor, s.Cov)
	for i := range s.Points {
		s.Cov.SetSym(i, i, s.Cov.At(i, i)+floorDB*floorDB)
	}
	return s
}

// smallSample returns how much draws of the pairs' blocks underestimate: a factor of the
// variance, and a standard deviation in dB to add if nothing can be drawn.
func smallSample(pairs []Pair) (factor, floorDB float64) {
	factor = 1
	for _, p := range pairs {
		for _, side := range []Blocks{p.Mix, p.Reference} {
			sec := 0.0
			for _, b := range side {
				sec = max(sec, b.Weight)
			}
			factor = max(factor, varianceInflation(len(side), sec))
			if len(side) < 2 && !p.Same {
				floorDB = oneBlockDB
			}
		}
	}
	return factor, floorDB
}

// varianceInflation returns the factor by which to enlarge the variance of n blocks that last
// sec seconds. Draws from n lack a share of 1/n. Neighbouring blocks under measure.BlockSec are
// alike, which makes bands from 1 s too narrow by 1.4 (measured: they cover 84 %).
func varianceInflation(n int, sec float64) float64 {
	narrow := 1 + 0.4*max(0, 1-sec/measure.BlockSec)
	return float64(n) / float64(max(1, n-1)) * narrow * narrow
}

// oneBlockDB is the standard deviation to assume if a side has one block, so that nothing can
// be drawn. Our choice: passages of 8 s from two halves of a song differ by 4.7 dB rms
// (measured), and half of that is taken for the measurement's.
const oneBlockDB = 2.4
