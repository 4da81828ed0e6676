package vector

import (
	"cmp"
	"image"
	"image/color"
	"slices"
)

// rgb is a colour without transparency as 0xRRGGBB.
type rgb uint32

// inFewColours returns an opaque picture with a palette of at most 256 of its colours; every
// other colour is replaced by the nearest of these. The palette starts with the most frequent
// colour. Then it takes, one at a time, the colour with the largest error: number of pixels ×
// squared distance to the palette so far. Only shades at the edges of letters and lines
// change, by a few levels. Compared with full colour, the file has a third of the size and is
// compressed ten times as fast.
func inFewColours(im *image.RGBA) *image.Paletted {
	counts := map[rgb]int{}
	eachRun(im, func(c rgb, _, n int) { counts[c] += n })
	found := make([]rgb, 0, len(counts))
	for c := range counts {
		found = append(found, c)
	}
	slices.SortFunc(found, func(a, b rgb) int {
		return cmp.Or(cmp.Compare(counts[b], counts[a]), cmp.Compare(a, b))
	})
	pixels := make([]int, len(found))
	for i, c := range found {
		pixels[i] = counts[c]
	}

	const most = 256 // PNG: a palette has 1 to 256 entries
	var kept []rgb
	entry := make([]uint8, len(found)) // of the nearest kept colour
	away := make([]int, len(found))    // squared distance to it
	for i := range away {
		away[i] = 1 << 20 // more than any two colours have
	}
	for next := 0; len(kept) < most && away[next] > 0; {
		c := found[next]
		kept = append(kept, c)
		next = 0
		for i, f := range found {
			if d := distance2(c, f); d < away[i] {
				away[i], entry[i] = d, uint8(len(kept)-1)
			}
			if pixels[i]*away[i] > pixels[next]*away[next] {
				next = i
			}
		}
	}
	index := make(map[rgb]uint8, len(found))
	for i, c := range found {
		index[c] = entry[i]
	}

	palette := make(color.Palette, len(kept))
	for i, c := range kept {
		palette[i] = color.RGBA{uint8(c >> 16), uint8(c >> 8), uint8(c), 255}
	}
	out := image.NewPaletted(im.Bounds(), palette)
	eachRun(im, func(c rgb, at, n int) {
		i := index[c]
		if i == 0 {
			return // a new picture is all 0
		}
		for k := at; k < at+n; k++ {
			out.Pix[k] = i
		}
	})
	return out
}

// eachRun calls do for each run of n equal pixels in a row of a picture whose bounds begin at
// 0, 0. at is the index of the run's first pixel.
func eachRun(im *image.RGBA, do func(c rgb, at, n int)) {
	size := im.Bounds().Size()
	for y := range size.Y {
		row := im.Pix[y*im.Stride:][:4*size.X]
		for x := 0; x < size.X; {
			r, g, b := row[4*x], row[4*x+1], row[4*x+2]
			n := 1
			for x+n < size.X && row[4*(x+n)] == r && row[4*(x+n)+1] == g && row[4*(x+n)+2] == b {
				n++
			}
			do(rgb(r)<<16|rgb(g)<<8|rgb(b), y*size.X+x, n)
			x += n
		}
	}
}

// distance2 returns the sum of squared differences of red, green and blue.
func distance2(a, b rgb) int {
	dr := int(a>>16&255) - int(b>>16&255)
	dg := int(a>>8&255) - int(b>>8&255)
	db := int(a&255) - int(b&255)
	return dr*dr + dg*dg + db*db
}
