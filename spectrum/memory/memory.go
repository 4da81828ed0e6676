// Package memory has a recording that a test holds instead of a file. Only tests may import it.
package memory

import (
	"io"

	"toneplumb/spectrum/audio/codec"
)

// Sound is a recording in memory. It implements audio.Source.
type Sound struct {
	RateHz int
	X      [][]float64    // [channel][frame], full scale ±1
	Most   int            // largest number of frames that Read returns; 0: no limit
	Warn   []codec.Remark // what Warnings returns
	At     int            // the frame that Read begins at
}

func (m *Sound) Format() codec.Format {
	return codec.Format{Container: "WAV", RateHz: m.RateHz, Channels: len(m.X), Frames: -1}
}

func (m *Sound) Read(dst [][]float64) (int, error) {
	n := len(dst[0])
	if m.Most > 0 {
		n = min(n, m.Most)
	}
	n = min(n, len(m.X[0])-m.At)
	if n == 0 {
		return 0, io.EOF
	}
	for c := range dst {
		copy(dst[c][:n], m.X[c][m.At:])
	}
	m.At += n
	return n, nil
}

func (m *Sound) Warnings() []codec.Remark { return m.Warn }
func (m *Sound) Close() error             { return nil }
