package spectrum

import (
	"fmt"
	"math"
)

// CrossBands holds the power of one window of a track in each band and its cross-power
// with the mix: means over the window, summed over the channels, full scale ±1.
type CrossBands struct {
	Power  [BandCount]float64 // |T|²
	Re, Im [BandCount]float64 // T·M*, of the track T and the mix M

	// Side and SideRe are |T_S|² and Re(T_S·M_S*) of the sides, (L − R)/√2: what Power and Re
	// hold beyond them is the mid's. Of mono they are 0.
	Side, SideRe [BandCount]float64
}

// CrossAnalyser is an [Analyser] for a mix and the tracks that run along with it. It
// holds scratch memory, so each goroutine needs its own.
//
// With z = l + i·r of the track and w = l + i·r of the mix, bins k and N−k give both
// channels' cross-spectra at once:
//
//	Z[k]·W[k]* + (Z[N−k]·W[N−k]*)* = 2(T_L·M_L* + T_R·M_R*)
//
// and crosswise
//
//	Z[k]·W[N−k] + Z[N−k]·W[k] = … + 2i·Re(T_L·M_R* + T_R·M_L*)
//
// from which the sides follow. All are integrated over the bands as the powers are.
type CrossAnalyser struct {
	mix    *Analyser
	tracks []*Analyser
	emit   func(window int, mix *Bands, tracks []CrossBands)

	ofMix  *Bands // of the window just analysed; nil: none
	window int
	bands  []CrossBands

	re, im, sideRe []float64      // the cross-spectrum of the current window, bins 0…N/2
	total          [][]complex128 // of all windows and even bins, for each track

	sketches     []Sketch // of the mix and each track; nil without KeepSketches
	sketchWeight func(window int) float64
	thirds       []int8 // of each even bin; −1: none
}

// NewCrossAnalyser returns an analyser for a mix and a number of tracks, each with the
// given number of channels, at rateHz. It calls emit for each window, numbered from 0;
// emit must not keep its arguments. It panics as [NewAnalyser] does.
func NewCrossAnalyser(rateHz float64, channels, tracks int, emit func(window int, mix *Bands, tracks []CrossBands)) *CrossAnalyser {
	c := &CrossAnalyser{emit: emit, bands: make([]CrossBands, tracks)}
	c.mix = NewAnalyser(rateHz, channels, func(window int, b *Bands) { c.window, c.ofMix = window, b })
	bins := len(c.mix.density)
	c.re, c.im, c.sideRe = make([]float64, bins), make([]float64, bins), make([]float64, bins)
	for i := range tracks {
		c.tracks = append(c.tracks, NewAnalyser(rateHz, channels, func(_ int, b *Bands) {
			to := &c.bands[i]
			to.Power = b.Power
			for band, p := range b.Power {
				to.Side[band] = max(p/2-b.Cross[band], 0) // (|L|² + |R|² − 2Re(L·R*))/2
			}
		}))
		c.total = append(c.total, make([]complex128, bins/2+1))
	}
	return c
}

// Add takes the next block of the mix and of each track, [channel][frame], all of one
// length and with the analyser's number of channels. It panics if the number of tracks
// differs from the analyser's.
func (c *CrossAnalyser) Add(mix [][]float64, tracks [][][]float64) {
	if len(tracks) != len(c.tracks) {
		panic(fmt.Sprintf("spectrum: blocks of %d tracks, want %d", len(tracks), len(c.tracks)))
	}
	// In parts that complete one window at most, so that the transforms of the mix and all
	// tracks are of the same window when it is full.
	most := int(c.mix.rateHz / WindowsPerSecond)
	part := make([][]float64, len(mix))
	cut := func(block [][]float64, from, to int) [][]float64 {
		for ch, x := range block {
			part[ch] = x[from:to]
		}
		return part
	}
	for from := 0; from < len(mix[0]); from += most {
		to := min(from+most, len(mix[0]))
		c.ofMix = nil
		c.mix.Add(cut(mix, from, to))
		if c.ofMix != nil {
			c.sketch(-1)
		}
		for i, a := range c.tracks {
			a.Add(cut(tracks[i], from, to))
			if c.ofMix != nil {
				c.cross(i)
				c.sketch(i)
			}
		}
		if c.ofMix != nil {
			c.emit(c.window, c.ofMix, c.bands)
		}
	}
}

// cross computes the cross-spectrum of one track's window.
func (c *CrossAnalyser) cross(track int) {
	a, m, total := c.tracks[track], c.mix, c.total[track]
	half := len(a.z)
	for k := 0; k <= half/2; k++ { // bin 2k mirrors bin N−2k
		j := (half - k) % half
		c.setBin(2*k, a.z[k], a.z[j], m.z[k], m.z[j])
		total[k] += complex(c.re[2*k], c.im[2*k])
	}
	odd, oddMix := a.odd.z, m.odd.z
	for k := range len(odd) / 2 { // bin 2k+1 mirrors bin N−2k−1
		j := len(odd) - 1 - k
		c.setBin(2*k+1, odd[k], odd[j], oddMix[k], oddMix[j])
	}
	to := &c.bands[track]
	for b, s := range a.shares {
		x, y, side := 0.0, 0.0, 0.0
		for i, w := range s.weight {
			k := s.first + i*s.stride
			x += w * c.re[k]
			y += w * c.im[k]
			side += w * c.sideRe[k]
		}
		to.Re[b], to.Im[b] = x, y
		if !m.mono {
			to.SideRe[b] = side
		}
	}
}

// setBin computes the cross-spectrum at bin k of a track's z and the mix's w and their mirror
// images.
func (c *CrossAnalyser) setBin(k int, z, mirror, w, mirrorW complex128) {
	x := (real(z)*real(w) + imag(z)*imag(w) + real(mirror)*real(mirrorW) + imag(mirror)*imag(mirrorW)) / 2
	c.re[k] = x
	c.im[k] = (imag(z)*real(w) - real(z)*imag(w) - imag(mirror)*real(mirrorW) + real(mirror)*imag(mirrorW)) / 2
	crosswise := (real(z)*imag(mirrorW) + imag(z)*real(mirrorW) + real(mirror)*imag(w) + imag(mirror)*real(w)) / 2
	c.sideRe[k] = (x - crosswise) / 2
}

// Lag returns by how many frames a track lags behind the mix (below 0: it is ahead),
// which is where the magnitude of their cross-correlation above 100 Hz is largest. It
// finds lags of up to a sixth of a second. It also returns the
// magnitude at lag 0 relative to that maximum, so 1 for a lag of 0. If nothing of the
// track is in the mix, it returns 0 and 1.
//
// Our choice: each bin is weighted by the root of its magnitude. That is half-way between
// the plain cross-correlation, which one strong tone dominates, and the phase transform of
// C. H. Knapp and G. C. Carter, IEEE Trans. ASSP-24 (1976), 320–327 (from memory), which
// noise dominates.
func (c *CrossAnalyser) Lag(track int) (frames int, without float64) {
	half := len(c.mix.z)
	x := make([]complex128, half)
	stepHz := c.mix.rateHz / float64(half)
	const fromHz = 100 // our choice: below, a period is longer than the lags that are sought
	for k, v := range c.total[track] {
		size := math.Hypot(real(v), imag(v))
		if float64(k)*stepHz < fromHz || size == 0 {
			continue
		}
		v /= complex(math.Sqrt(size), 0)
		x[k] = v
		if k < half/2 {
			x[half-k] = complex(real(v), -imag(v))
		}
	}
	NewTransform(half).Forward(x)
	best := 0
	for n, v := range x {
		if math.Abs(real(v)) > math.Abs(real(x[best])) {
			best = n
		}
	}
	top := math.Abs(real(x[best]))
	if top == 0 {
		return 0, 1
	}
	frames = -best // a track that runs n frames behind has exp(−iωn) in its cross-spectrum
	if best > half/2 {
		frames = half - best
	}
	return frames, math.Abs(real(x[0])) / top
}
