package mp3

import "math"

// Inverse transforms. With n lines X, the standard's formula is a cosine transform of type IV except for order and signs:
//
//	u[j] = Σ X[k]·cos(π/4n·(2j+1)(2k+1)),  j = 0 … n−1
//	x[i] = u[i+n/2], −u[3n/2−1−i], −u[i−3n/2]  for i < n/2, i < 3n/2, i < 2n
//
// Multiplied by 2cos(π/4n·(2j+1)) it is a transform of type III of the sums of neighbours X[k]+X[k−1]; that factor is
// divided out in the windows. A transform of type III splits into two of half the length: one of its even lines and, in
// the same way, one of its odd lines.

// longWindows are the windows of 36 samples by parity of the subband and block type, divided by 2cos(π/72·(2j+1)) and with
// the signs above. In odd subbands every other sample changes its sign.
var longWindows = func() (table [2][4][2 * slots]float32) {
	for parity := range table {
		for blockType := range table[parity] {
			for i := range table[parity][blockType] {
				j, sign := unfold(i, slots)
				w := longWindow(blockType, i) * sign / (2 * math.Cos(math.Pi/72*float64(2*j+1)))
				if parity == 1 && i%2 == 1 {
					w = -w
				}
				table[parity][blockType][i] = float32(w)
			}
		}
	}
	return table
}()

// longWindow returns sample i of the long window of a block type. The one for short blocks is not used.
func longWindow(blockType, i int) float64 {
	long := math.Sin(math.Pi / 36 * (float64(i) + 0.5))
	switch {
	case blockType == startBlock && i >= 30, blockType == stopBlock && i < 6:
		return 0
	case blockType == startBlock && i >= 24:
		return math.Sin(math.Pi / 12 * (float64(i) - 18 + 0.5))
	case blockType == stopBlock && i < 12:
		return math.Sin(math.Pi / 12 * (float64(i) - 6 + 0.5))
	case blockType == startBlock && i >= 18, blockType == stopBlock && i < 18:
		return 1
	}
	return long
}

// shortWindows are the windows of 12 samples by parity of the subband, made in the same way.
var shortWindows = func() (table [2][12]float32) {
	for parity := range table {
		for i := range table[parity] {
			j, sign := unfold(i, 6)
			w := math.Sin(math.Pi/12*(float64(i)+0.5)) * sign / (2 * math.Cos(math.Pi/24*float64(2*j+1)))
			if parity == 1 && i%2 == 1 {
				w = -w
			}
			table[parity][i] = float32(w)
		}
	}
	return table
}()

// unfold returns the j and the sign for which sample i of a transform of n lines is sign·u[j].
func unfold(i, n int) (j int, sign float64) {
	switch {
	case i < n/2:
		return i + n/2, 1
	case i < 3*n/2:
		return 3*n/2 - 1 - i, -1
	}
	return i - 3*n/2, -1
}

// halfSecants9 and halfSecants3 are 1/2cos(π/36·(2j+1)) and 1/2cos(π/12·(2j+1)).
var halfSecants9, halfSecants3 = func() (nine [9]float32, three [3]float32) {
	for j := range nine {
		nine[j] = float32(1 / (2 * math.Cos(math.Pi/36*float64(2*j+1))))
	}
	for j := range three {
		three[j] = float32(1 / (2 * math.Cos(math.Pi/12*float64(2*j+1))))
	}
	return nine, three
}()

// imdct36 turns 18 lines into 36 windowed samples. The first 18, added to the overlap, go to out; the others become the
// next overlap.
func imdct36(in, overlap *[slots]float32, win *[2 * slots]float32, out *subbandTimes, sb int) {
	var even, odd [9]float32
	even[0], odd[0] = in[0], in[1]+in[0]
	for i := 1; i < 9; i++ {
		even[i] = in[2*i] + in[2*i-1]
		odd[i] = in[2*i+1] + in[2*i] + in[2*i-1] + in[2*i-2]
	}
	dct9(&even)
	dct9(&odd)
	sb &= subbands - 1
	for j := range even {
		o := odd[j] * halfSecants9[j]
		u, v := even[j]+o, even[j]-o // u[j], u[17−j]
		out[8-j][sb] = overlap[8-j] + v*win[8-j]
		out[9+j][sb] = overlap[9+j] + v*win[9+j]
		overlap[8-j] = u * win[26-j]
		overlap[9+j] = u * win[27+j]
	}
}

const (
	cos10 = 0.98480775301220805936674302458952
	cos20 = 0.93969262078590838405410927732473
	cos30 = 0.86602540378443864676372317075294
	cos40 = 0.76604444311897803520239265055542
	cos50 = 0.64278760968653932632264340990726
	cos70 = 0.34202014332566873304409961468226
	cos80 = 0.17364817766693034885171662676931
)

// dct9 computes z[j] = Σ z[k]·cos(π/18·(2j+1)k) in place. The sums over even and over odd k are computed separately:
// the even ones are symmetric in j, the odd ones antisymmetric.
func dct9(z *[9]float32) {
	t := z[0] + z[6]*0.5
	a0 := t + z[2]*cos20 + z[4]*cos40 + z[8]*cos80
	a2 := t - z[2]*cos80 - z[4]*cos20 + z[8]*cos40
	a3 := t - z[2]*cos40 + z[4]*cos80 - z[8]*cos20
	r, s := z[0]-z[6], z[2]-z[4]-z[8]
	a1, a4 := r+s*0.5, r-s
	m := z[3] * cos30
	b0 := z[1]*cos10 + m + z[5]*cos50 + z[7]*cos70
	b1 := (z[1] - z[5] - z[7]) * cos30
	b2 := z[1]*cos50 - m - z[5]*cos70 + z[7]*cos10
	b3 := z[1]*cos70 - m + z[5]*cos10 - z[7]*cos50
	z[0], z[8] = a0+b0, a0-b0
	z[1], z[7] = a1+b1, a1-b1
	z[2], z[6] = a2+b2, a2-b2
	z[3], z[5] = a3+b3, a3-b3
	z[4] = a4
}

// imdct12 does the same for three short blocks of six lines each, whose lines are interleaved. The blocks begin at
// samples 6, 12 and 18.
func imdct12(in, overlap *[slots]float32, win *[12]float32, out *subbandTimes, sb int) {
	var x [2 * slots]float32
	copy(x[:slots], overlap[:])
	for w := range 3 {
		x0, x1, x2, x3, x4, x5 := in[w], in[w+3], in[w+6], in[w+9], in[w+12], in[w+15]
		x5, x4, x3, x2, x1 = x5+x4, x4+x3, x3+x2, x2+x1, x1+x0
		x5, x3 = x5+x3, x3+x1
		// Two transforms of three lines.
		p, q, r := x0+x4*0.5, x2*cos30, x0-x4
		e := [3]float32{p + q, r, p - q}
		p, q, r = x1+x5*0.5, x3*cos30, x1-x5
		o := [3]float32{p + q, r, p - q}
		y := (*[12]float32)(x[6+6*w:])
		for j := range e {
			s := o[j] * halfSecants3[j]
			u, v := e[j]+s, e[j]-s // u[j], u[5−j]
			y[2-j] += v * win[2-j]
			y[3+j] += v * win[3+j]
			y[8-j] += u * win[8-j]
			y[9+j] += u * win[9+j]
		}
	}
	for i := range out {
		out[i][sb&(subbands-1)] = x[i]
	}
	copy(overlap[:], x[slots:])
}
