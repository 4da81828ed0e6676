package mp3

import "math"

// Intensity stereo. Source: ISO/IEC 11172-3, section 2.4.3.4.9.3, and ISO/IEC 13818-3, section 2.4.3.2. In the bands above
// the second channel's last nonzero line (in short blocks, for each window separately) both channels get the lines of the
// first, multiplied by the factors of a direction.

// directions are the factors of the first and second channel in MPEG-1: r/(1+r) and 1/(1+r), r = tan(i·π/12).
var directions = func() (table [noDirection][2]float32) {
	for i := range table {
		s, c := math.Sincos(float64(i) * math.Pi / 12)
		table[i] = [2]float32{float32(s / (s + c)), float32(c / (s + c))}
	}
	return table
}()

// lowDirections are those of MPEG-2 and MPEG-2.5, in steps of the fourth or second root of 2: odd directions attenuate
// the first channel, even ones the second.
var lowDirections = func() (table [2][32][2]float32) {
	for coarse := range table {
		for i := range table[coarse] {
			less := float32(math.Exp2(-float64((i+1)/2) * float64(coarse+1) / 4))
			table[coarse][i] = [2]float32{1, less}
			if i%2 == 1 {
				table[coarse][i] = [2]float32{less, 1}
			}
		}
	}
	return table
}()

// midSide turns sum and difference, already multiplied by 1/√2, into two channels.
func midSide(x, y []float32) {
	y = y[:len(x)]
	for i, m := range x {
		s := y[i]
		x[i], y[i] = m+s, m-s
	}
}

// stereo undoes joint stereo in a granule of the first channel x and the second y, whose lines from limit on are zero. p
// and f are those of the second channel.
func stereo(h Header, x, y *[lines]float32, limit int, p *part, f *factors, bands []band) {
	if !h.Intensity() {
		midSide(x[:limit], y[:limit])
		return
	}
	var sound [3]bool // by window: whether this or a higher band of the second channel has a nonzero line
	for i := len(bands) - 1; i >= 0; i-- {
		b := &bands[i]
		of := i
		// The highest bands have no scale factors of their own.
		if b.window >= 0 && i >= len(bands)-3 {
			of -= 3
		} else if b.window < 0 && i == len(longEdges[0])-2 {
			of--
		}
		w := max(b.window, 0)
		if b.window < 0 && (sound[1] || sound[2]) {
			sound[0] = true
		}
		sound[w] = sound[w] || b.hasLine(y)
		gain, some := direction(h, p, f, of)
		switch {
		case !sound[w] && some:
			if h.MidSide() {
				gain[0] *= math.Sqrt2
				gain[1] *= math.Sqrt2
			}
			b.each(func(k int) { x[k], y[k] = x[k]*gain[0], x[k]*gain[1] })
		case h.MidSide():
			b.each(func(k int) { x[k], y[k] = x[k]+y[k], x[k]-y[k] })
		}
	}
}

// direction returns the factors of both channels; some is false if the band has no direction.
func direction(h Header, p *part, f *factors, band int) (gain [2]float32, some bool) {
	i := f.value[band]
	switch {
	case i >= f.most[band]:
		return gain, false
	case h.Version == MPEG1:
		return directions[i], true
	}
	return lowDirections[p.compress&1][i], true
}

// hasLine reports whether y has a nonzero line in the band.
func (b *band) hasLine(y *[lines]float32) bool {
	any := false
	b.each(func(k int) { any = any || y[k] != 0 })
	return any
}

// each calls f with the lines of the band.
func (b *band) each(f func(line int)) {
	for i := range 2 * b.pairs {
		f(b.start + i*b.step)
	}
}
