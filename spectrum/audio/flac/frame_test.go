package flac

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	mewkiz "github.com/mewkiz/flac"

	"toneplumb/spectrum/internal/audiotest"
)

// bitWriter writes bits, the most significant first.
type bitWriter struct {
	b    []byte
	free int // bits of the last byte
}

func (w *bitWriter) put(v int64, n int) {
	for n--; n >= 0; n-- {
		if w.free == 0 {
			w.b, w.free = append(w.b, 0), 8
		}
		w.free--
		w.b[len(w.b)-1] |= byte(v>>n&1) << w.free
	}
}

// subframe writes samples of width bits as a random kind of subframe, including choices that no encoder makes.
func (w *bitWriter) subframe(rng *rand.Rand, x []int64, width int) {
	all, wasted := int64(0), 0
	for _, v := range x {
		all |= v
	}
	for wasted < 3 && all>>wasted&1 == 0 {
		wasted++
	}
	y := make([]int64, len(x))
	for i, v := range x {
		y[i] = v >> wasted
	}
	width -= wasted
	kind := []int{1, 8, 9, 10, 11, 12, 32, 33, 35, 39, 43, 63}[rng.IntN(12)]
	constant := true
	for _, v := range y {
		constant = constant && v == y[0]
	}
	if constant {
		kind = 0
	}
	w.put(int64(kind), 7)
	if wasted > 0 {
		w.put(1, 1)
		w.put(1, wasted)
	} else {
		w.put(0, 1)
	}
	switch {
	case kind == 0:
		w.put(y[0], width)
	case kind == 1:
		for _, v := range y {
			w.put(v, width)
		}
	case kind < 32:
		order := kind - 8
		fixed := [][]int64{{}, {1}, {2, -1}, {3, -3, 1}, {4, -6, 4, -1}}[order]
		w.residual(rng, y, fixed, 0, width)
	default:
		coeffs := make([]int64, kind-31)
		for j := range coeffs {
			coeffs[j] = (rng.Int64N(64) - 32) / int64(1+j) // so that no residual is beyond 32 bits
		}
		w.residual(rng, y, coeffs, 3+rng.IntN(5), width)
	}
}

// residual writes a subframe with a predictor after its header. coeffs begin with that of the newest sample; a shift of 0
// means a fixed predictor.
func (w *bitWriter) residual(rng *rand.Rand, x, coeffs []int64, shift, width int) {
	order := len(coeffs)
	for _, v := range x[:order] {
		w.put(v, width)
	}
	if shift > 0 {
		const precision = 7
		w.put(precision-1, 4)
		w.put(int64(shift), 5)
		for _, c := range coeffs {
			w.put(c, precision)
		}
	}
	method, partOrder := rng.IntN(2), rng.IntN(5)
	if width > 16 {
		method = 1 // the longer parameters, or the frame grows beyond what is taken
	}
	for len(x)%(1<<partOrder) != 0 || len(x)>>partOrder <= order {
		partOrder--
	}
	w.put(int64(method), 2)
	w.put(int64(partOrder), 4)
	size := len(x) >> partOrder
	for p := range 1 << partOrder {
		var part []int64
		largest := int64(0)
		for i := max(order, p*size); i < (p+1)*size; i++ {
			sum := int64(0)
			for j, c := range coeffs {
				sum += c * x[i-1-j]
			}
			r := x[i] - sum>>shift
			part = append(part, r)
			largest = max(largest, r, ^r)
		}
		bits := 0
		for ; largest > 0; largest >>= 1 {
			bits++
		}
		k := max(0, bits-rng.IntN(7))
		if most := 14 + 16*method; k > most {
			k = most
		}
		if escape := bits < 24 && rng.IntN(4) == 0; escape {
			w.put(1<<(4+method)-1, 4+method)
			for _, r := range part {
				if r != 0 { // 0 bits stand for nothing but 0
					bits++
					break
				}
			}
			w.put(int64(bits), 5)
			for _, r := range part {
				w.put(r, bits)
			}
			continue
		}
		w.put(int64(k), 4+method)
		for _, r := range part {
			v := r<<1 ^ r>>63
			for range v >> k {
				w.put(0, 1)
			}
			w.put(1, 1)
			w.put(v, k)
		}
	}
}

// randomStream returns a FLAC stream whose frames use every feature of the format, and the samples in it.
func randomStream(rng *rand.Rand, bits, frames int) (stream []byte, want [][]float64) {
	const blockSize, rateCode44100 = 192, 9
	info := make([]byte, 34) // RFC 9639, section 8.2
	binary.BigEndian.PutUint16(info, blockSize)
	binary.BigEndian.PutUint16(info[2:], blockSize)
	binary.BigEndian.PutUint64(info[10:], 44100<<44|1<<41|uint64(bits-1)<<36|uint64(frames*blockSize))
	code := byte(slices.Index(wordBits[:], bits)) // the library needs it in each frame
	stream = append([]byte(Mark+"\x80\x00\x00\x22"), info...)
	want = make([][]float64, 2)
	for n := range frames {
		var x [2][]int64
		quiet, low := rng.IntN(bits), rng.IntN(4)
		for c := range x {
			v := int64(0)
			for range blockSize {
				v += rng.Int64N(1<<(bits-quiet)) - 1<<(bits-quiet-1)
				v = max(-1<<(bits-1), min(1<<(bits-1)-1, v)) >> low << low
				x[c] = append(x[c], v)
				want[c] = append(want[c], float64(v)/float64(int64(1)<<(bits-1)))
			}
		}
		form := []int{1, leftSide, sideRight, midSide}[rng.IntN(4)]
		widths := [2]int{bits, bits}
		for i := range x[0] {
			l, r := x[0][i], x[1][i]
			switch form {
			case leftSide:
				x[1][i], widths[1] = l-r, bits+1
			case sideRight:
				x[0][i], widths[0] = l-r, bits+1
			case midSide:
				x[0][i], x[1][i], widths[1] = (l+r)>>1, l-r, bits+1
			}
		}
		head := []byte{0xFF, 0xF8, 0x10 | rateCode44100, byte(form)<<4 | code<<1, byte(n)}
		w := bitWriter{b: append(head, crc8(head))}
		for c := range x {
			w.subframe(rng, x[c], widths[c])
		}
		stream = append(stream, binary.BigEndian.AppendUint16(w.b, crc16(0, w.b))...)
	}
	return stream, want
}

// Every kind of subframe, predictor, partition and stereo decodes to the original samples: here, in ffmpeg, and in the
// library.
func TestRandomStreams(t *testing.T) {
	for _, bits := range []int{8, 12, 16, 20, 24} {
		t.Run(fmt.Sprint(bits, " bits"), func(t *testing.T) {
			rng := rand.New(rand.NewPCG(uint64(bits), 1))
			stream, want := randomStream(rng, bits, 120)
			d := opener.Open(t, stream)
			got := audiotest.DecodeAll(t, d, 1000)
			if w := d.Warnings(); len(w) > 0 {
				t.Fatalf("warnings %v", w)
			}
			if largest, _ := audiotest.Difference(t, got, want); largest != 0 {
				t.Errorf("differs by %g", largest)
			}
			path := audiotest.WriteFile(t, "a.flac", stream)
			audiotest.AsFFmpeg(t, path, want)
			theirs := libraryDecode(t, stream)
			for c := range theirs {
				for i := range theirs[c] {
					theirs[c][i] /= float64(int64(1) << (bits - 1))
				}
			}
			if largest, _ := audiotest.Difference(t, theirs, want); largest != 0 {
				t.Errorf("the library differs by %g", largest)
			}
		})
	}
}

// libraryDecode decodes a stream with the library, to integer samples.
func libraryDecode(t testing.TB, stream []byte) (x [][]float64) {
	t.Helper()
	s, err := mewkiz.New(bytes.NewReader(stream))
	if err != nil {
		t.Fatal(err)
	}
	x = make([][]float64, s.Info.NChannels)
	for n := uint64(0); n < s.Info.NSamples; {
		f, err := s.ParseNext()
		if err != nil {
			t.Fatalf("after %d samples: %v", n, err)
		}
		for c, sub := range f.Subframes {
			for _, v := range sub.Samples {
				x[c] = append(x[c], float64(v))
			}
		}
		n += uint64(f.BlockSize)
	}
	return x
}
