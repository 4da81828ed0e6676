package tracks

import (
	"context"
	"io"
	"slices"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/multitrack"
)

// sound is a recording in memory: [channel][frame].
type sound [][]float32

func silence(channels, frames int) sound {
	s := make(sound, channels)
	for c := range s {
		s[c] = make([]float32, frames)
	}
	return s
}

// plus adds another sound.
func (s sound) plus(o sound) sound {
	for c := range s {
		for i, v := range o[c] {
			s[c][i] += v
		}
	}
	return s
}

func sumOf(stems []sound) sound {
	sum := silence(len(stems[0]), len(stems[0][0]))
	for _, s := range stems {
		sum.plus(s)
	}
	return sum
}

// through returns the sound through filters at 44.1 kHz.
func (s sound) through(filters ...biquad.Filter) sound {
	out := silence(len(s), len(s[0]))
	cascade := biquad.NewCascade(filters, 44100, len(s))
	block := audio.NewBlock(len(s), 8192)
	part := make([][]float64, len(s))
	for at := 0; at < len(s[0]); at += 8192 {
		n := min(8192, len(s[0])-at)
		for c := range s {
			part[c] = block[c][:n]
			for i, v := range s[c][at : at+n] {
				part[c][i] = float64(v)
			}
		}
		cascade.Run(part)
		for c := range s {
			for i, v := range part[c] {
				out[c][at+i] = float32(v)
			}
		}
	}
	return out
}

// part returns some of its frames.
func (s sound) part(from, to int) sound {
	var p sound
	for _, x := range s {
		p = append(p, x[from:to])
	}
	return p
}

// memory reads a sound.
type memory struct {
	x      sound
	rateHz int
	at     int
}

func (m *memory) Format() audio.Format {
	return audio.Format{Container: "WAV", Encoding: "float", RateHz: m.rateHz, Channels: len(m.x), Frames: int64(len(m.x[0]))}
}

func (m *memory) Read(dst [][]float64) (int, error) {
	n := min(len(dst[0]), len(m.x[0])-m.at)
	if n == 0 {
		return 0, io.EOF
	}
	for c := range dst {
		for i, v := range m.x[c][m.at : m.at+n] {
			dst[c][i] = float64(v)
		}
	}
	m.at += n
	return n, nil
}

func (m *memory) Warnings() []audio.Remark { return nil }
func (m *memory) Close() error             { return nil }

func measured(t *testing.T, x sound, path string) *measure.Recording {
	t.Helper()
	r, err := measure.Measure(context.Background(), &memory{x: x, rateHz: 44100}, path)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// advised runs the whole job on sounds in memory.
func advised(t *testing.T, mix *measure.Recording, mixSound sound, ref *measure.Recording, names []string, stems []sound, o Options) *Advice {
	t.Helper()
	c, err := match.Compare(mix, []*measure.Recording{ref}, match.DefaultCompare())
	if err != nil {
		t.Fatal(err)
	}
	solve := match.DefaultSolve()
	solve.TowardPercent = 100
	a := Advise(c.Solve(solve), inStep(t, mix, mixSound, names, stems), o)
	if err := a.Measure(context.Background(), openOf(mix, mixSound, names, stems), 2); err != nil {
		t.Fatal(err)
	}
	return a
}

// openOf opens a mix and its tracks.
func openOf(mix *measure.Recording, mixSound sound, names []string, stems []sound) func(context.Context, string) (audio.Source, error) {
	return func(_ context.Context, path string) (audio.Source, error) {
		if path == mix.Path {
			return &memory{x: mixSound, rateHz: 44100}, nil
		}
		return &memory{x: stems[slices.Index(names, path)], rateHz: 44100}, nil
	}
}

func inStep(t *testing.T, mix *measure.Recording, mixSound sound, names []string, stems []sound) *multitrack.Table {
	t.Helper()
	together, err := multitrack.Measure(context.Background(), openOf(mix, mixSound, names, stems), mix.Path, mix.GateWeights(), names, 2)
	if err != nil {
		t.Fatal(err)
	}
	return together
}
