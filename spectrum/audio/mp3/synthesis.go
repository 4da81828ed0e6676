package mp3

import "math"

// The synthesis filter bank. Source: ISO/IEC 11172-3, section 2.4.3.4.11 and figure A.2.
//
// The standard's 64 values V of a slot are, except for signs, the 32 values X of a cosine transform of type II:
//
//	X[k] = Σ S[n]·cos(π/64·(2n+1)k)
//	V[i] = X[16+i], i < 16;  0, i = 16;  −X[48−i], i < 49;  −X[i−48], i < 64
//
// so samples j and 32−j of a slot are two sums over the same X of 16 slots.

// synthesis holds the transforms of the last slots of one channel.
type synthesis struct {
	x [past + slots][subbands]float32
}

const past = 15

// windowPairs are the window's factors for samples j and 32−j, by pair of slots, counted back from the current one. The
// four are: for sample j the factors of X[16+j] in the even slot and X[16−j] in the odd slot, then those for sample 32−j.
// At j = 0 the last two are for sample 16 instead of 32.
var windowPairs = func() (table [16][8][4]float32) {
	d := func(i int) float32 {
		switch {
		case i <= 256:
			return float32(synthesisWindow[i]) / 65536
		case i%64 == 0:
			return float32(synthesisWindow[512-i]) / 65536
		}
		return -float32(synthesisWindow[512-i]) / 65536
	}
	for j := range table {
		for i := range table[j] {
			at := 64 * i
			if j == 0 {
				table[j][i] = [4]float32{d(at), -d(at + 32), 0, -d(at + 48)}
				continue
			}
			table[j][i] = [4]float32{d(at + j), -d(at + 32 + j), -d(at + 32 - j), -d(at + 64 - j)}
		}
	}
	return table
}()

// granule turns the samples of the subbands into sound.
func (s *synthesis) granule(in *subbandTimes, out *[lines]float32) {
	for t := range in {
		dct32(&s.x[past+t], &in[t])
		s.slot(t, (*[subbands]float32)(out[subbands*t:]))
	}
	copy(s.x[:past], s.x[slots:])
}

// slot computes the samples of one slot.
func (s *synthesis) slot(t int, out *[subbands]float32) {
	x := (*[past + 1][subbands]float32)(s.x[t:])
	var first, middle float32
	for i := range 8 {
		w := &windowPairs[0][i]
		even, odd := &x[15-2*i], &x[14-2*i]
		first += even[16]*w[0] + odd[16]*w[1]
		middle += odd[0] * w[3]
	}
	out[0], out[16] = first, middle
	for j := 1; j < 16; j++ {
		w := &windowPairs[j]
		a, b := x[15][16+j], x[14][16-j]
		p, q := a*w[0][0]+b*w[0][1], a*w[0][2]+b*w[0][3]
		a, b = x[13][16+j], x[12][16-j]
		p, q = p+(a*w[1][0]+b*w[1][1]), q+(a*w[1][2]+b*w[1][3])
		a, b = x[11][16+j], x[10][16-j]
		p, q = p+(a*w[2][0]+b*w[2][1]), q+(a*w[2][2]+b*w[2][3])
		a, b = x[9][16+j], x[8][16-j]
		p, q = p+(a*w[3][0]+b*w[3][1]), q+(a*w[3][2]+b*w[3][3])
		a, b = x[7][16+j], x[6][16-j]
		p, q = p+(a*w[4][0]+b*w[4][1]), q+(a*w[4][2]+b*w[4][3])
		a, b = x[5][16+j], x[4][16-j]
		p, q = p+(a*w[5][0]+b*w[5][1]), q+(a*w[5][2]+b*w[5][3])
		a, b = x[3][16+j], x[2][16-j]
		p, q = p+(a*w[6][0]+b*w[6][1]), q+(a*w[6][2]+b*w[6][3])
		a, b = x[1][16+j], x[0][16-j]
		p, q = p+(a*w[7][0]+b*w[7][1]), q+(a*w[7][2]+b*w[7][3])
		out[j], out[32-j] = p, q
	}
}

// half32 and half16 are 1/2cos(π/2n·(2i+1)) for n = 32 and 16.
var half32, half16 = func() (a [16]float32, b [8]float32) {
	for i := range a {
		a[i] = float32(1 / (2 * math.Cos(math.Pi/64*float64(2*i+1))))
	}
	for i := range b {
		b[i] = float32(1 / (2 * math.Cos(math.Pi/32*float64(2*i+1))))
	}
	return a, b
}()

// dct32 computes the cosine transform of type II by halving. The even results are the transform of x[i]+x[n−1−i], which
// has half the length. The odd ones are sums of neighbours in the transform of (x[i]−x[n−1−i])/2cos(π/2n·(2i+1)).
func dct32(out, in *[subbands]float32) {
	var x [4][8]float32
	for i := range 8 {
		a, b, c, d := in[i], in[15-i], in[16+i], in[31-i]
		s, t := a+d, b+c
		u, v := (a-d)*half32[i], (b-c)*half32[15-i]
		x[0][i], x[1][i] = s+t, (s-t)*half16[i]
		x[2][i], x[3][i] = u+v, (u-v)*half16[i]
	}
	dct8(&x[0])
	dct8(&x[1])
	dct8(&x[2])
	dct8(&x[3])
	// x[0] and x[1] give the even results, x[2] and x[3] the transform whose neighbours are summed for the odd ones.
	for k := range 7 {
		out[4*k] = x[0][k]
		out[4*k+2] = x[1][k] + x[1][k+1]
		middle := x[3][k] + x[3][k+1]
		out[4*k+1] = x[2][k] + middle
		out[4*k+3] = middle + x[2][k+1]
	}
	out[28], out[30] = x[0][7], x[1][7]
	out[29], out[31] = x[2][7]+x[3][7], x[3][7]
}

// 1/2cos(π/16·(2i+1)), 1/2cos(π/8·(2i+1)) and 1/2cos(π/4).
const (
	half8a = 0.50979557910415916894193980398784
	half8b = 0.60134488693504528054372182390922
	half8c = 0.89997622313641570463850954094189
	half8d = 2.5629154477415061787960862961777
	half4a = 0.54119610014619698439972320536639
	half4b = 1.3065629648763765278566431734272
	half2  = 0.70710678118654752440084436210485
)

func dct8(x *[8]float32) {
	a0, a1, a2, a3 := x[0]+x[7], x[1]+x[6], x[2]+x[5], x[3]+x[4]
	b0, b1, b2, b3 := (x[0]-x[7])*half8a, (x[1]-x[6])*half8b, (x[2]-x[5])*half8c, (x[3]-x[4])*half8d
	c0, c1, d0, d1 := a0+a3, a1+a2, (a0-a3)*half4a, (a1-a2)*half4b
	e0, e1, f0, f1 := b0+b3, b1+b2, (b0-b3)*half4a, (b1-b2)*half4b
	d2, f2 := (d0-d1)*half2, (f0-f1)*half2
	g0, g1, g2, g3 := e0+e1, f0+f1+f2, (e0-e1)*half2, f2
	x[0], x[4] = c0+c1, (c0-c1)*half2
	x[2], x[6] = d0+d1+d2, d2
	x[1], x[3], x[5], x[7] = g0+g1, g1+g2, g2+g3, g3
}

// synthesisWindow is the first half, with the middle, of the window D of ISO/IEC 11172-3, table B.3, in steps of 2^-16.
// The second half mirrors the first, negated except at multiples of 64.
var synthesisWindow = [257]int32{
	0, -1, -1, -1, -1, -1, -1, -2, -2, -2, -2, -3, -3, -4, -4, -5,
	-5, -6, -7, -7, -8, -9, -10, -11, -13, -14, -16, -17, -19, -21, -24, -26,
	-29, -31, -35, -38, -41, -45, -49, -53, -58, -63, -68, -73, -79, -85, -91, -97,
	-104, -111, -117, -125, -132, -139, -147, -154, -161, -169, -176, -183, -190, -196, -202, -208,
	213, 218, 222, 225, 227, 228, 228, 227, 224, 221, 215, 208, 200, 189, 177, 163,
	146, 127, 106, 83, 57, 29, -2, -36, -72, -111, -153, -197, -244, -294, -347, -401,
	-459, -519, -581, -645, -711, -779, -848, -919, -991, -1064, -1137, -1210, -1283, -1356, -1428, -1498,
	-1567, -1634, -1698, -1759, -1817, -1870, -1919, -1962, -2001, -2032, -2057, -2075, -2085, -2087, -2080, -2063,
	2037, 2000, 1952, 1893, 1822, 1739, 1644, 1535, 1414, 1280, 1131, 970, 794, 605, 402, 185,
	-45, -288, -545, -814, -1095, -1388, -1692, -2006, -2330, -2663, -3004, -3351, -3705, -4063, -4425, -4788,
	-5153, -5517, -5879, -6237, -6589, -6935, -7271, -7597, -7910, -8209, -8491, -8755, -8998, -9219, -9416, -9585,
	-9727, -9838, -9916, -9959, -9966, -9935, -9863, -9750, -9592, -9389, -9139, -8840, -8492, -8092, -7640, -7134,
	6574, 5959, 5288, 4561, 3776, 2935, 2037, 1082, 70, -998, -2122, -3300, -4533, -5818, -7154, -8540,
	-9975, -11455, -12980, -14548, -16155, -17799, -19478, -21189, -22929, -24694, -26482, -28289, -30112, -31947, -33791, -35640,
	-37489, -39336, -41176, -43006, -44821, -46617, -48390, -50137, -51853, -53534, -55178, -56778, -58333, -59838, -61289, -62684,
	-64019, -65290, -66494, -67629, -68692, -69679, -70590, -71420, -72169, -72835, -73415, -73908, -74313, -74630, -74856, -74992,
	75038,
}
