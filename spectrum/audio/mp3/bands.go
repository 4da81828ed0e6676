package mp3

// lines is the number of spectral lines in a granule of one channel, and of the samples they are transformed to.
const lines = 576

// The edges of scale factor bands, long and short, by rateIndex. Source: ISO/IEC 11172-3, table B.8, and ISO/IEC 13818-3,
// table B.2; those of MPEG-2.5, which no standard gives, from memory. At 24 kHz ffmpeg 5.1 has 330 instead of 332.
var longEdges = [9][]int{
	{0, 4, 8, 12, 16, 20, 24, 30, 36, 44, 52, 62, 74, 90, 110, 134, 162, 196, 238, 288, 342, 418, 576},
	{0, 4, 8, 12, 16, 20, 24, 30, 36, 42, 50, 60, 72, 88, 106, 128, 156, 190, 230, 276, 330, 384, 576},
	{0, 4, 8, 12, 16, 20, 24, 30, 36, 44, 54, 66, 82, 102, 126, 156, 194, 240, 296, 364, 448, 550, 576},
	{0, 6, 12, 18, 24, 30, 36, 44, 54, 66, 80, 96, 116, 140, 168, 200, 238, 284, 336, 396, 464, 522, 576},
	{0, 6, 12, 18, 24, 30, 36, 44, 54, 66, 80, 96, 114, 136, 162, 194, 232, 278, 332, 394, 464, 540, 576},
	{0, 6, 12, 18, 24, 30, 36, 44, 54, 66, 80, 96, 116, 140, 168, 200, 238, 284, 336, 396, 464, 522, 576},
	{0, 6, 12, 18, 24, 30, 36, 44, 54, 66, 80, 96, 116, 140, 168, 200, 238, 284, 336, 396, 464, 522, 576},
	{0, 6, 12, 18, 24, 30, 36, 44, 54, 66, 80, 96, 116, 140, 168, 200, 238, 284, 336, 396, 464, 522, 576},
	{0, 12, 24, 36, 48, 60, 72, 88, 108, 132, 160, 192, 232, 280, 336, 400, 476, 566, 568, 570, 572, 574, 576},
}

var shortEdges = [9][]int{
	{0, 4, 8, 12, 16, 22, 30, 40, 52, 66, 84, 106, 136, 192},
	{0, 4, 8, 12, 16, 22, 28, 38, 50, 64, 80, 100, 126, 192},
	{0, 4, 8, 12, 16, 22, 30, 42, 58, 78, 104, 138, 180, 192},
	{0, 4, 8, 12, 18, 24, 32, 42, 56, 74, 100, 132, 174, 192},
	{0, 4, 8, 12, 18, 26, 36, 48, 62, 80, 104, 136, 180, 192},
	{0, 4, 8, 12, 18, 26, 36, 48, 62, 80, 104, 134, 174, 192},
	{0, 4, 8, 12, 18, 26, 36, 48, 62, 80, 104, 134, 174, 192},
	{0, 4, 8, 12, 18, 26, 36, 48, 62, 80, 104, 134, 174, 192},
	{0, 8, 16, 24, 36, 52, 72, 96, 124, 160, 162, 164, 166, 192},
}

// band is one scale factor band; in short blocks, of one window. Lines of short blocks are kept in order of frequency,
// interleaved between the three windows.
type band struct {
	start  int // first line
	step   int // from line to line: 1, in short blocks 3
	pairs  int // of lines
	window int // in short blocks 0 to 2, in long blocks -1
}

// end returns the line after the band; in short blocks, the line after the same band of all three windows.
func (b *band) end() int {
	if b.window < 0 {
		return b.start + 2*b.pairs
	}
	return b.start - b.window + 6*b.pairs
}

// layout holds the bands at one sampling frequency, in the order of the main data.
type layout struct {
	long, short, mixed []band
	mixedLong          int     // number of long bands in mixed blocks
	ends               [22]int // of long bands, in pairs
	shortThree         int     // the end of three short bands, in pairs
}

var layouts = func() (all [9]layout) {
	for rate := range all {
		l := &all[rate]
		long, short := longEdges[rate], shortEdges[rate]
		for i := range l.ends {
			l.ends[i] = long[i+1] / 2
			l.long = append(l.long, band{start: long[i], step: 1, pairs: (long[i+1] - long[i]) / 2, window: -1})
		}
		for i := range len(short) - 1 {
			for w := range 3 {
				l.short = append(l.short, band{start: 3*short[i] + w, step: 3, pairs: (short[i+1] - short[i]) / 2, window: w})
			}
		}
		// Mixed blocks have long bands up to the third short one.
		const firstShort = 3
		l.shortThree = 3 * short[firstShort] / 2
		for l.ends[l.mixedLong] <= l.shortThree {
			l.mixedLong++
		}
		l.mixed = append(append(l.mixed, l.long[:l.mixedLong]...), l.short[3*firstShort:]...)
	}
	return all
}()

// of returns the bands for the block type of a part.
func (l *layout) of(p *part) []band {
	switch {
	case p.mixed:
		return l.mixed
	case p.shortBlocks:
		return l.short
	}
	return l.long
}
