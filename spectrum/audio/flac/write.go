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
	// blockLen is the frames in a block. Our choice: what the reference encoder, flac, uses at its higher levels; files
	// are 1 % smaller than with 1152.
	blockLen = 4096
	// maxRateHz is the largest rate that STREAMINFO holds (RFC 9639, section 8.2: 20 bits; flac has the same limit).
	maxRateHz = 655350
)

// Write writes sound x[channel][frame], full scale ±1, as a FLAC stream of 16 bits. Samples are dithered from the seed,
// rounded and clamped as pcm.Writer does, so the stream decodes to the samples of a 16-bit WAV written with the same
// seed. Write panics unless 1 ≤ rateHz ≤ 655350 and x has one or two channels of the same length above 0. The error is
// w's.
//
// The library writes the bits; the fixed predictor, the Rice partitions and the stereo form are chosen here (choose.go).
// Source: RFC 9639.
func Write(w io.Writer, rateHz int, x [][]float64, seed uint64) error {
	if rateHz < 1 || rateHz > maxRateHz || len(x) < 1 || len(x) > 2 || len(x[0]) == 0 || len(x[len(x)-1]) != len(x[0]) {
		panic(fmt.Sprintf("audio: Write: %d Hz, %d channels", rateHz, len(x)))
	}
	// The MD5 sum comes before the sound, so the sound is dithered twice. (The library would seek back to write the sum.)
	sum := md5.New()
	eachSteps(x, seed, func(block [][]int32) error {
		sum.Write(asWords(block))
		return nil
	})
	info := &meta.StreamInfo{
		BlockSizeMin: blockLen, BlockSizeMax: blockLen, SampleRate: uint32(rateHz), NChannels: uint8(len(x)),
		BitsPerSample: writtenBits, NSamples: uint64(len(x[0])), MD5sum: [md5.Size]uint8(sum.Sum(nil)),
	}
	// As a plain io.Writer, so that the library neither seeks nor closes.
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

// headerRate returns the rate for a frame header, which can hold whole Hz in 16 bits or multiples of 10 Hz. For other
// rates it returns 0, which refers to STREAMINFO (RFC 9639, section 9.1.2).
func headerRate(rateHz int) uint32 {
	if rateHz > math.MaxUint16 && rateHz%10 != 0 {
		return 0
	}
	return uint32(rateHz)
}

// eachSteps calls do with the sound as dithered 16-bit integers, block by block. A block is valid during the call only.
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

// asWords returns a block in the form whose MD5 sum STREAMINFO holds: interleaved 16-bit little-endian words (RFC 9639,
// section 8.2).
func asWords(block [][]int32) []byte {
	raw := make([]byte, 0, 2*len(block)*len(block[0]))
	for i := range block[0] {
		for _, x := range block {
			raw = binary.LittleEndian.AppendUint16(raw, uint16(x[i]))
		}
	}
	return raw
}

// chosenFrame returns one block as a frame with its stereo form and predictors chosen.
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
	// The library computes middle and side from left and right in place, so it gets a copy.
	for c, s := range chosen {
		s.Samples = append([]int32(nil), block[c]...)
		s.NSamples = len(block[c])
	}
	f.Subframes = chosen
	return f
}
