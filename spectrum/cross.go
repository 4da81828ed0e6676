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
}

// CrossAnalyser is an [Analyser] for a mix and the tracks that run along with it. It
// holds scratch memory, so each goroutine needs its own.
//
// With z = l + i·r of the track and w = l + i·r of the mix, bins k and N−k give both
// channels' cross-spectra at once:
//
//	Z[k]·W[k]* + (Z[N−k]·W[N−k]*)* = 2(T_L·M_L* + T_R·M_R*)
//
// The cross-spectra are integrated over the bands as the powers are.
type CrossAnalyser struct {
	mix    *Analyser
	tracks []*Analyser
	emit   func(window int, mix *Bands, tracks []CrossBands)

	ofMix  *Bands // of the window just analysed; nil: none
	window int
	bands  []CrossBands
	re, im []float64      // the cross-spectrum of the current window, bins 0…N/2
	total  [][]complex128 // of all windows, for each track

	sketches     []Sketch // of the mix and each track; nil without KeepSketches
	sketchWeight func(window int) float64
	thirds       []int8 // of each even bin; −1: none
}

// NewCrossAnalyser returns an analyser for a mix and a number of tracks, each with the
// given number of channels, at rateHz. It calls emit for each window, numbered from 0;
// emit must not keep its arguments. It panics as [NewAnalyser] does.
func NewCrossAnalyser(rateHz float64, channels, tracks int, emit func(window int, mix *Bands, tracks []CrossBands)) *CrossAnalyser {
	c := &CrossAnalyser{emit: emit, bands: make([]CrossBands, tracks)}
	c.mix = newAnalyser(rateHz, channels, rateHz, func(window int, b *Bands) { c.window, c.ofMix = window, b })
	bins := len(c.mix.density)
	c.re, c.im = make([]float64, bins), make([]float64, bins)
	for i := range tracks {
		c.tracks = append(c.tracks, newAnalyser(rateHz, channels, rateHz, func(_ int, b *Bands) { c.bands[i].Power = b.Power }))
		c.total = append(c.total, make([]complex128, bins))
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
	odd, oddMix := a.odd.z, m.odd.z
	set := func(k int, z, mirror, w, mirrorW complex128) {
		x := (real(z)*real(w) + imag(z)*imag(w) + real(mirror)*real(mirrorW) + imag(mirror)*imag(mirrorW)) / 2
		y := (imag(z)*real(w) - real(z)*imag(w) - imag(mirror)*real(mirrorW) + real(mirror)*imag(mirrorW)) / 2
		c.re[k], c.im[k] = x, y
		total[k] += complex(x, y)
	}
	for k := 0; k <= half/2; k++ { // bin 2k mirrors bin N−2k
		j := (half - k) % half
		set(2*k, a.z[k], a.z[j], m.z[k], m.z[j])
	}
	for k := 0; k < half/2; k++ { // bin 2k+1 mirrors bin N−2k−1
		j := half - 1 - k
		set(2*k+1, odd[k], odd[j], oddMix[k], oddMix[j])
	}
	to := &c.bands[track]
	for b, s := range a.shares {
		x, y := 0.0, 0.0
		re, im := c.re[s.first:], c.im[s.first:]
		for i, w := range s.weight {
			x += w * re[i]
			y += w * im[i]
		}
		to.Re[b], to.Im[b] = x, y
	}
}

// Lag returns by how many frames a track lags behind the mix (below 0: it is ahead),
// which is where the magnitude of their cross-correlation above 100 Hz is largest. It
// finds lags of up to the length over which the windows overlap. It also returns the
// magnitude at lag 0 relative to that maximum, so 1 for a lag of 0. If nothing of the
// track is in the mix, it returns 0 and 1.
//
// Our choice: each bin is weighted by the root of its magnitude. That is half-way between
// the plain cross-correlation, which one strong tone dominates, and the phase transform of
// C. H. Knapp and G. C. Carter, IEEE Trans. ASSP-24 (1976), 320–327 (from memory), which
// noise dominates.
func (c *CrossAnalyser) Lag(track int) (frames int, without float64) {
	m := c.mix
	half := len(m.z)
	x := make([]complex128, 2*half)
	stepHz := m.rateHz / float64(2*half)
	const fromHz = 100 // our choice: below it, a period is longer than the lags that are searched for
	for k, v := range c.total[track] {
		size := math.Hypot(real(v), imag(v))
		if float64(k)*stepHz < fromHz || size == 0 {
			continue
		}
		v /= complex(math.Sqrt(size), 0)
		x[k] = v
		if k > 0 && k < half {
			x[2*half-k] = complex(real(v), -imag(v))
		}
	}
	newFFT(2 * half).transform(x)
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
	frames = -best // a track that lags by n frames has exp(−iωn) in its cross-spectrum
	if best > half {
		frames = 2*half - best
	}
	return frames, math.Abs(real(x[0])) / top
}
