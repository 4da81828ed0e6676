package cli

import (
	"encoding/binary"
	"math"
	"math/rand/v2"
)

// wavFile is a RIFF file in pieces, so that each can lie.
type wavFile struct {
	tag, channels, rate, align, bits int
	riffSize, dataSize               int64 // −1: the true one
	data                             []byte
}

// goodWAV is seconds of 16-bit stereo noise at 8 kHz with a slow tremolo.
func goodWAV(seconds float64) wavFile {
	w := wavFile{tag: 1, channels: 2, rate: 8000, align: 4, bits: 16, riffSize: -1, dataSize: -1}
	rng := rand.New(rand.NewPCG(1, 2))
	for i := range int(seconds * 8000) {
		v := int16(5000 * rng.NormFloat64() * (1 + 0.5*math.Sin(float64(i)/3000)))
		w.data = binary.LittleEndian.AppendUint16(w.data, uint16(v))
		w.data = binary.LittleEndian.AppendUint16(w.data, uint16(-v/2))
	}
	return w
}

// floats is seconds of 32-bit float stereo with one value throughout.
func floats(seconds float64, value float32) wavFile {
	w := wavFile{tag: 3, channels: 2, rate: 8000, align: 8, bits: 32, riffSize: -1, dataSize: -1}
	for range int(seconds*8000) * 2 {
		w.data = binary.LittleEndian.AppendUint32(w.data, math.Float32bits(value))
	}
	return w
}

func (w wavFile) bytes() []byte {
	size := func(s int64, otherwise int) uint32 {
		if s < 0 {
			return uint32(otherwise)
		}
		return uint32(s)
	}
	le := binary.LittleEndian
	b := []byte("RIFF")
	b = le.AppendUint32(b, size(w.riffSize, 36+len(w.data)))
	b = append(b, "WAVEfmt "...)
	b = le.AppendUint32(b, 16)
	b = le.AppendUint16(b, uint16(w.tag))
	b = le.AppendUint16(b, uint16(w.channels))
	b = le.AppendUint32(b, uint32(w.rate))
	b = le.AppendUint32(b, uint32(w.rate*w.align))
	b = le.AppendUint16(b, uint16(w.align))
	b = le.AppendUint16(b, uint16(w.bits))
	b = append(b, "data"...)
	b = le.AppendUint32(b, size(w.dataSize, len(w.data)))
	return append(b, w.data...)
}
