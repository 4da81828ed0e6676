package mp3

import "math"

// Requantising. Source: ISO/IEC 11172-3, section 2.4.3.4.7.1:
//
//	x = sign · |i|^(4/3) · 2^((gain − 210 − 8·subGain)/4) · 2^(−m·(factor + preemphasis)),  m = 1/2 or 1

// rootsBelow is the number of entries of roots below 1, rootsAbove the number from 1 on.
const (
	rootsBelow = 210 + 8*7 + 4*(31+3) + 2
	rootsAbove = 255 - 210 + 1
)

// roots holds 2^(i/4) from i = −rootsBelow on.
var roots = func() (table [rootsBelow + rootsAbove]float32) {
	for i := range table {
		table[i] = float32(math.Exp2(float64(i-rootsBelow) / 4))
	}
	return table
}()

// scales writes the factor of each band to dst. With halved, the lines are those of a sum or difference, and the 1/√2 of
// mid-side stereo is included.
func scales(dst *[maxBands]float32, p *part, bands []band, f *factors, halved bool) {
	base := rootsBelow + p.gain - 210
	if halved {
		base -= 2
	}
	shift := 1
	if p.coarse {
		shift = 2
	}
	for i := range bands {
		e := base
		if w := bands[i].window; w >= 0 {
			e -= 8 * p.subGain[w]
		}
		step := int(f.value[i])
		if p.preflag && !p.shortBlocks {
			step += int(preemphasis[i])
		}
		dst[i] = roots[e-step<<shift]
	}
}

// lineReader keeps track of the band and the line that the next decoded pair belongs to.
type lineReader struct {
	bands []band
	scale *[maxBands]float32
	i     int // the current band
	left  int // pairs left in it
	at    int // its next line
}

func (l *lineReader) enter(i int) {
	l.i = i
	if i < len(l.bands) {
		l.left, l.at = l.bands[i].pairs, l.bands[i].start
	}
}

// advance moves on by n pairs.
func (l *lineReader) advance(n int) {
	l.at += 2 * n * l.bands[l.i].step
	if l.left -= n; l.left == 0 {
		l.enter(l.i + 1)
	}
}

// readLines decodes the lines of a part from the bits pos to end into x, which must hold zeros. Lines from limit on stay
// zero. ok is false if the pairs extend past end.
func readLines(x *[lines]float32, data []byte, pos, end int, p *part, bands []band, scale *[maxBands]float32) (limit int, ok bool) {
	b := bitWindow{data: data}
	b.seek(pos)
	l := lineReader{bands: bands, scale: scale}
	l.enter(0)
	done := 0
	for region, regionEnd := range p.regionEnd {
		tree := trees[p.table[region]]
		for to := min(regionEnd, p.pairs); done < to; {
			n := min(to-done, l.left)
			if tree != nil {
				b.pairs(tree, x, l.at, bands[l.i].step, n, scale[l.i])
				if b.pos() > end {
					return 0, false
				}
				limit = max(limit, bands[l.i].end())
			}
			l.advance(n)
			done += n
		}
	}
	for done+2 <= lines/2 && b.pos() < end {
		v := b.four(p.codeB)
		if b.pos() > end {
			break // padding bits, not a code
		}
		for range 2 {
			if v&0xC != 0 {
				limit = max(limit, bands[l.i].end())
				step := bands[l.i].step
				if v&8 != 0 {
					x[l.at] = signed(scale[l.i], v>>7)
				}
				if v&4 != 0 {
					x[l.at+step] = signed(scale[l.i], v>>6)
				}
			}
			l.advance(1)
			v = v&3<<2 | v>>4&3<<6
		}
		done += 2
	}
	return limit, true
}

// signed returns x, negative if the lowest bit of sign is set.
func signed(x float32, sign uint8) float32 {
	return math.Float32frombits(math.Float32bits(x) | uint32(sign)<<31)
}
