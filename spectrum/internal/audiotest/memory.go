package audiotest

import (
	"io"
	"math"
	"math/rand/v2"

	"toneplumb/spectrum/audio/codec"
)

// Memory is a recording in memory. It implements audio.Source.
type Memory struct {
	RateHz int
	X      [][]float64 // [channel][frame], full scale ±1
	Most   int         // largest number of frames that Read returns; 0: no limit
	Warn   []string    // what Warnings returns

	at int
}

func (m *Memory) Format() codec.Format {
	return codec.Format{Container: "WAV", RateHz: m.RateHz, Channels: len(m.X), Frames: -1}
}

func (m *Memory) Read(dst [][]float64) (int, error) {
	n := len(dst[0])
	if m.Most > 0 {
		n = min(n, m.Most)
	}
	n = min(n, len(m.X[0])-m.at)
	if n == 0 {
		return 0, io.EOF
	}
	for c := range dst {
		copy(dst[c][:n], m.X[c][m.at:])
	}
	m.at += n
	return n, nil
}

func (m *Memory) Warnings() []string { return m.Warn }
func (m *Memory) Close() error       { return nil }

// Noise returns that many seconds of partly correlated stereo noise, [channel][frame], in phrases of half a second, which
// are up to 6 dB below a level of db.
func Noise(seed uint64, rateHz int, seconds, db float64) [][]float64 {
	rng := rand.New(rand.NewPCG(seed, 5))
	x := codec.NewBlock(2, int(seconds*float64(rateHz)))
	gain := math.Pow(10, db/20)
	phrase := gain
	for i := range x[0] {
		if i%(rateHz/2) == 0 {
			phrase = gain * math.Pow(10, -6*rng.Float64()/20)
		}
		both := rng.NormFloat64()
		x[0][i] = phrase * (both + 0.5*rng.NormFloat64())
		x[1][i] = phrase * (both + 0.5*rng.NormFloat64())
	}
	return x
}
