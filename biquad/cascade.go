package biquad

import "math"

// Cascade filters sound through sections in series, each channel separately. It
// keeps its state from block to block: the output is the same, bit for bit, however
// the sound is cut into blocks. A Cascade serves one goroutine.
type Cascade struct {
	channels [][]section // per channel
	frames   int         // since the last call of rest, see restFrames
}

// section is one second-order section with its state, in transposed direct form
// II: y = b0·x + s1, s1' = b1·x − a1·y + s2, s2' = b2·x − a2·y.
type section struct {
	Coeffs
	s1, s2 float64
}

// In silence a state decays for ever, through the denormal numbers, which many
// processors handle a hundred times more slowly. So every restFrames frames a state
// below restLevel is set to 0. Our choice: the level is 4000 dB below full scale, 108
// decades above the denormal numbers. Only poles within 0.38 of the origin decay that
// far within 256 frames, and they stay denormal for 256 frames at most.
const (
	restFrames = 256
	restLevel  = 1e-200
)

// NewCascade returns a cascade of filters at rateHz for sound with that many
// channels, its state all 0. It panics if [Filter.Check] fails for any filter at rateHz.
func NewCascade(filters []Filter, rateHz float64, channels int) *Cascade {
	var sections []Coeffs
	for _, f := range filters {
		sections = append(sections, f.Sections(rateHz)...)
	}
	return NewCascadeOf(sections, channels)
}

// NewCascadeOf returns a cascade of sections given by their coefficients, its state all 0.
func NewCascadeOf(sections []Coeffs, channels int) *Cascade {
	c := &Cascade{channels: make([][]section, channels)}
	for ch := range c.channels {
		c.channels[ch] = make([]section, len(sections))
		for i, coeffs := range sections {
			c.channels[ch][i].Coeffs = coeffs
		}
	}
	return c
}

// Run filters block[channel][frame] in place. It panics unless block has as many
// channels as the cascade, all of the same length.
func (c *Cascade) Run(block [][]float64) {
	if len(block) != len(c.channels) {
		panic("biquad: block has another number of channels than the cascade")
	}
	if len(block) == 0 {
		return
	}
	n := len(block[0])
	for _, x := range block {
		if len(x) != n {
			panic("biquad: channels of one block differ in length")
		}
	}
	for from := 0; from < n; {
		to := min(n, from+restFrames-c.frames)
		ch := 0
		for ; ch+1 < len(block); ch += 2 {
			runPair(c.channels[ch], c.channels[ch+1], block[ch][from:to], block[ch+1][from:to])
		}
		if ch < len(block) {
			runOne(c.channels[ch], block[ch][from:to])
		}
		c.frames += to - from
		if c.frames == restFrames {
			c.rest()
		}
		from = to
	}
}

// rest sets states that have decayed below restLevel to 0.
func (c *Cascade) rest() {
	c.frames = 0
	for _, sections := range c.channels {
		for i := range sections {
			s := &sections[i]
			if math.Abs(s.s1) < restLevel {
				s.s1 = 0
			}
			if math.Abs(s.s2) < restLevel {
				s.s2 = 0
			}
		}
	}
}

// runPair filters two channels in place. Each output of a section depends on the one
// before it; the processor fills that wait with the other channel, which halves the time.
func runPair(sectionsX, sectionsU []section, x, u []float64) {
	u = u[:len(x)]
	for i := range sectionsX {
		p, q := &sectionsX[i], &sectionsU[i]
		b0, b1, b2, a1, a2 := p.B0, p.B1, p.B2, p.A1, p.A2
		p1, p2, q1, q2 := p.s1, p.s2, q.s1, q.s2
		for n, xn := range x {
			un := u[n]
			y := b0*xn + p1
			v := b0*un + q1
			p1 = (b1*xn + p2) - a1*y
			q1 = (b1*un + q2) - a1*v
			p2 = b2*xn - a2*y
			q2 = b2*un - a2*v
			x[n] = y
			u[n] = v
		}
		p.s1, p.s2, q.s1, q.s2 = p1, p2, q1, q2
	}
}

// runOne filters one channel in place.
func runOne(sections []section, x []float64) {
	for i := range sections {
		p := &sections[i]
		b0, b1, b2, a1, a2 := p.B0, p.B1, p.B2, p.A1, p.A2
		s1, s2 := p.s1, p.s2
		for n, xn := range x {
			y := b0*xn + s1
			s1 = (b1*xn + s2) - a1*y
			s2 = b2*xn - a2*y
			x[n] = y
		}
		p.s1, p.s2 = s1, s2
	}
}
