package pcm

import (
	"encoding/binary"
	"io"
	"math"

	"toneplumb/spectrum/audio/codec"
)

// unpacker converts one channel's samples to floats of full scale ±1; sample i starts at src[i·stride]. It returns how
// many samples were not numbers or beyond [codec.MaxSample]; those become 0.
type unpacker func(dst []float64, src []byte, stride int) (bad int64)

// chooseUnpacker returns the unpacker for a layout. Integer samples are at the top of their container, as the EXTENSIBLE
// format requires. Files with 24 bits at the bottom of 32 are recognised by their data.
func chooseUnpacker(r io.ReaderAt, l layout, dataAt, dataLen int64, order binary.ByteOrder) (unpacker, error) {
	switch {
	case l.float && l.width == 4:
		return unpackFloat32, nil
	case l.float:
		return unpackFloat64, nil
	case l.width == 1:
		return unpackUint8, nil
	case l.width == 2:
		return unpackInt16, nil
	case l.width == 3:
		return unpackInt24, nil
	}
	if l.bits == 24 {
		low, err := samplesAtBottom(r, dataAt, dataLen, order)
		if err != nil {
			return nil, err
		}
		if low {
			return unpackInt32(8), nil
		}
	}
	return unpackInt32(0), nil
}

// samplesAtBottom reports whether the first non-silent samples of 24 bits in 32 occupy the lower three bytes: some
// lowest byte is not 0, and every highest byte only repeats the sign.
func samplesAtBottom(r io.ReaderAt, dataAt, dataLen int64, order binary.ByteOrder) (bool, error) {
	const lookLen = 1 << 16
	buf := make([]byte, lookLen)
	for pos := int64(0); pos+4 <= dataLen; pos += lookLen {
		b := buf[:min(lookLen, dataLen-pos)]
		if err := codec.ReadAt(r, b, dataAt+pos); err != nil {
			return false, err
		}
		used, lowUsed, signOnly := false, false, true
		for ; len(b) >= 4; b = b[4:] {
			v := int32(order.Uint32(b))
			used = used || v != 0
			lowUsed = lowUsed || v&0xFF != 0
			signOnly = signOnly && v == v<<8>>8
		}
		if used {
			return lowUsed && signOnly, nil
		}
	}
	return false, nil
}

func unpackUint8(dst []float64, src []byte, stride int) int64 {
	j := 0
	for i := range dst {
		dst[i] = float64(int(src[j])-128) * (1.0 / (1 << 7))
		j += stride
	}
	return 0
}

func unpackInt16(dst []float64, src []byte, stride int) int64 {
	j := 0
	for i := range dst {
		dst[i] = float64(int16(binary.LittleEndian.Uint16(src[j:]))) * (1.0 / (1 << 15))
		j += stride
	}
	return 0
}

func unpackInt24(dst []float64, src []byte, stride int) int64 {
	j := 0
	for i := range dst {
		b := src[j : j+3 : j+3]
		v := int32(uint32(b[0])<<8 | uint32(b[1])<<16 | uint32(b[2])<<24)
		dst[i] = float64(v) * (1.0 / (1 << 31))
		j += stride
	}
	return 0
}

// unpackInt32 returns the unpacker of 32 bits, the samples shifted up by some of them.
func unpackInt32(up int) unpacker {
	return func(dst []float64, src []byte, stride int) int64 {
		j := 0
		for i := range dst {
			dst[i] = float64(int32(binary.LittleEndian.Uint32(src[j:])<<up)) * (1.0 / (1 << 31))
			j += stride
		}
		return 0
	}
}

func unpackFloat32(dst []float64, src []byte, stride int) (bad int64) {
	j := 0
	for i := range dst {
		x := float64(math.Float32frombits(binary.LittleEndian.Uint32(src[j:])))
		if !(math.Abs(x) <= codec.MaxSample) { // catches NaN too
			x = 0
			bad++
		}
		dst[i] = x
		j += stride
	}
	return bad
}

func unpackFloat64(dst []float64, src []byte, stride int) (bad int64) {
	j := 0
	for i := range dst {
		x := math.Float64frombits(binary.LittleEndian.Uint64(src[j:]))
		if !(math.Abs(x) <= codec.MaxSample) {
			x = 0
			bad++
		}
		dst[i] = x
		j += stride
	}
	return bad
}
