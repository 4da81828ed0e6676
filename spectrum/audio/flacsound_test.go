package audio

import (
	"bytes"
	"io"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/mewkiz/flac"
	"github.com/mewkiz/flac/frame"
	"github.com/mewkiz/flac/meta"
)

// Frames of every kind that the format knows, as drawn from a seed, written by the library and read here: what was
// written comes back. The library's own reader must agree, so that no kind is wrong twice.
func TestFLACFramesOfEveryKind(t *testing.T) {
	const frames, size = 300, 192
	rng := rand.New(rand.NewPCG(3, 9))
	var out bytes.Buffer
	info := &meta.StreamInfo{BlockSizeMin: size, BlockSizeMax: size, SampleRate: 44100, NChannels: 2, BitsPerSample: 16, NSamples: frames * size}
	e, err := flac.NewEncoder(struct{ io.Writer }{&out}, info)
	if err != nil {
		t.Fatal(err)
	}
	e.EnablePredictionAnalysis(false)
	kinds := map[any]int{}
	want := [2][]int32{}
	for range frames {
		f := drawnFrame(rng, size)
		kinds[f.Channels]++
		for c, s := range f.Subframes {
			want[c] = append(want[c], s.Samples...)
			kinds[s.Pred]++
			kinds[s.Wasted > 0]++
			if s.RiceSubframe != nil {
				kinds[s.ResidualCodingMethod]++
			}
		}
		if err := e.WriteFrame(f); err != nil {
			t.Fatal(err)
		}
	}
	for _, kind := range []any{frame.ChannelsLR, frame.ChannelsLeftSide, frame.ChannelsSideRight, frame.ChannelsMidSide,
		frame.PredConstant, frame.PredVerbatim, frame.PredFixed, frame.PredFIR, true, frame.ResidualCodingMethodRice1, frame.ResidualCodingMethodRice2} {
		if kinds[kind] < frames/20 {
			t.Errorf("%d of kind %T %v: too few to tell", kinds[kind], kind, kind)
		}
	}
	library, err := flac.New(bytes.NewReader(out.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	got := decodeAll(t, openFile(t, writeFile(t, "a.flac", out.Bytes())), 1000)
	for n := range frames {
		theirs, err := library.ParseNext()
		if err != nil {
			t.Fatalf("frame %d: the library says %v", n, err)
		}
		for c := range want {
			for i := range size {
				at := n*size + i
				if w := want[c][at]; theirs.Subframes[c].Samples[i] != w || got[c][at] != float64(w)/(1<<15) {
					t.Fatalf("frame %d (%+v), channel %d, sample %d: %v, the library %d, written %d", n, theirs.Subframes[c].SubHeader, c, i, got[c][at]*(1<<15), theirs.Subframes[c].Samples[i], w)
				}
			}
		}
	}
}

// drawnFrame is a frame of two channels with each choice of the format drawn.
func drawnFrame(rng *rand.Rand, size int) *frame.Frame {
	f := &frame.Frame{Header: frame.Header{HasFixedBlockSize: true, BlockSize: uint16(size), SampleRate: 44100, BitsPerSample: 16}}
	f.Channels = []frame.Channels{frame.ChannelsLR, frame.ChannelsLeftSide, frame.ChannelsSideRight, frame.ChannelsMidSide}[rng.IntN(4)]
	// Half the frames have zeros below their samples; left and right alike, that the difference has them too.
	wasted := uint(rng.IntN(2) * rng.IntN(5))
	constant := rng.IntN(3) == 0
	level := float64(int32(1) << rng.IntN(14))
	phase, step := rng.Float64(), 0.3*rng.Float64()
	for c := range 2 {
		x := make([]int32, size)
		for i := range x {
			x[i] = int32(level*math.Sin(phase+step*float64(i))+rng.NormFloat64()*level/20) + int32(c)
			if constant {
				x[i] = int32(level) - int32(c*7)
			}
			x[i] = min(max(x[i], -1<<15), 1<<15-1) >> wasted << wasted
		}
		s := &frame.Subframe{Samples: x, NSamples: size}
		if f.Channels != frame.ChannelsMidSide { // of odd sums the middle has none below it
			s.Wasted = wasted
		}
		switch kind := rng.IntN(3); {
		case constant:
			s.Pred = frame.PredConstant
		case kind == 0:
			s.Pred = frame.PredVerbatim
		case kind == 1:
			s.Pred, s.Order = frame.PredFixed, rng.IntN(5)
		default:
			s.Pred, s.Order, s.CoeffPrec, s.CoeffShift = frame.PredFIR, 1+rng.IntN(32), uint(6+rng.IntN(10)), int32(5+rng.IntN(11))
			most := min(int32(1)<<(s.CoeffPrec-1)-1, 1<<s.CoeffShift/int32(s.Order)) // no residual grows far beyond the sound
			for range s.Order {
				s.Coeffs = append(s.Coeffs, rng.Int32N(2*most+2)-most-1)
			}
		}
		if s.Order > 0 || s.Pred == frame.PredFixed {
			drawPartitions(rng, s)
		}
		f.Subframes = append(f.Subframes, s)
	}
	return f
}

// drawPartitions draws how a residual is written. Escaped words are wide enough for any that is drawn here.
func drawPartitions(rng *rand.Rand, s *frame.Subframe) {
	s.ResidualCodingMethod = frame.ResidualCodingMethod(rng.IntN(2))
	escape := []uint{15, 31}[s.ResidualCodingMethod]
	rice := &frame.RiceSubframe{PartOrder: rng.IntN(7)} // 192 is three times 64
	for s.NSamples>>rice.PartOrder < s.Order {
		rice.PartOrder--
	}
	for range 1 << rice.PartOrder {
		p := frame.RicePartition{Param: 10 + uint(rng.IntN(5))}
		if rng.IntN(4) == 0 {
			p = frame.RicePartition{Param: escape, EscapedBitsPerSample: 20}
		}
		rice.Partitions = append(rice.Partitions, p)
	}
	s.RiceSubframe = rice
}
