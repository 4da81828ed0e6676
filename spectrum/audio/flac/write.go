package flac

import (
	"crypto/md5"
	"encoding/binary"
	"fmt"
	"io"
	"math"

	"github.com/mewkiz/flac"
	"github.com/mewkiz/flac/frame"
	"github.com/mewkiz/flac/meta"

	"toneplumb/spectrum/audio/codec"
)

const (
	writtenBits = 16
	// blockLen frames make a block. Our choice: flac's own for its higher levels; 1 % smaller than 1152.
	blockLen = 4096
	// maxRateHz is the largest rate that STREAMINFO holds (RFC 9639, section 8.2: 20 bits; flac itself stops here).
	maxRateHz = 655350
)

// Write writes sound of one or two channels, full scale ±1, as a FLAC stream of 16 bits. Samples are dithered from
// the seed as Writer.Dither has it, rounded and clamped, so that the stream decodes to what a 16-bit WAV of the same
// seed holds. It needs 1 ≤ rateHz ≤ 655350 and at least one frame, channels of one length, and panics otherwise. The
// error is w's.
//
// The library writes the bits; which of the fixed predictors, Rice partitions and stereo forms to take is chosen here
// (choose.go). Source: RFC 9639.
func Write(w io.Writer, rateHz int, x [][]float64, seed uint64) error {
	if rateHz < 1 || rateHz > maxRateHz || len(x) < 1 || len(x) > 2 || len(x[0]) == 0 || len(x[len(x)-1]) != len(x[0]) {
		panic(fmt.Sprintf("audio: Write: %d Hz, %d channels", rateHz, len(x)))
	}
	// The sum is told before the sound, so the sound is dithered twice: the library would go back for it.
	sum := md5.New()
	eachSteps(x, seed, func(block [][]int32) error {
		sum.Write(asWords(block))
		return nil
	})
	info := &meta.StreamInfo{
		BlockSizeMin: blockLen, BlockSizeMax: blockLen, SampleRate: uint32(rateHz), NChannels: uint8(len(x)),
		BitsPerSample: writtenBits, NSamples: uint64(len(x[0])), MD5sum: [md5.Size]uint8(sum.Sum(nil)),
	}
	// Behind a plain writer, so that the library neither seeks nor closes.
	e, err := flac.NewEncoder(struct{ io.Writer }{w}, info)
	if err != nil {
		return err
	}
	e.EnablePredictionAnalysis(false)
	return eachSteps(x, seed, func(block [][]int32) error {
		f := chosenFrame(block)
		f.SampleRate = headerRate(rateHz)
		return e.WriteFrame(f)
	})
}

// headerRate is the rate as a frame's header can tell it, 0 (look it up in STREAMINFO) where it cannot: whole Hz in 16
// bits or tens of them (RFC 9639, section 9.1.2).
func headerRate(rateHz int) uint32 {
	if rateHz > math.MaxUint16 && rateHz%10 != 0 {
		return 0
	}
	return uint32(rateHz)
}

// eachSteps hands on sound in whole steps of 16 bits, block by block. A block lasts until the next.
func eachSteps(x [][]float64, seed uint64, do func(block [][]int32) error) error {
	d := codec.NewDither(seed)
	block := make([][]int32, len(x))
	for at := 0; at < len(x[0]); at += blockLen {
		for c := range block {
			block[c] = block[c][:0]
		}
		for i := at; i < min(at+blockLen, len(x[0])); i++ {
			for c := range x {
				block[c] = append(block[c], codec.Steps(x[c][i], writtenBits, d.Next()))
			}
		}
		if err := do(block); err != nil {
			return err
		}
	}
	return nil
}

// asWords are steps as STREAMINFO's sum takes them: 16-bit little-endian words, channels taking turns (RFC 9639, section
// 8.2).
func asWords(block [][]int32) []byte {
	raw := make([]byte, 0, 2*len(block)*len(block[0]))
	for i := range block[0] {
		for _, x := range block {
			raw = binary.LittleEndian.AppendUint16(raw, uint16(x[i]))
		}
	}
	return raw
}

// chosenFrame is one block with its stereo form and predictors chosen.
func chosenFrame(block [][]int32) *frame.Frame {
	f := &frame.Frame{Header: frame.Header{
		HasFixedBlockSize: true, BlockSize: uint16(len(block[0])), BitsPerSample: writtenBits, Channels: frame.ChannelsMono,
	}}
	chosen := []*frame.Subframe{}
	if len(block) == 1 {
		chosen = append(chosen, choose(block[0], writtenBits).subframe)
	} else {
		f.Channels, chosen = chooseStereo(block[0], block[1])
	}
	// The library takes left and right and makes middle and side itself, in place: it gets a copy.
	for c, s := range chosen {
		s.Samples = append([]int32(nil), block[c]...)
		s.NSamples = len(block[c])
	}
	f.Subframes = chosen
	return f
}
