package tracks

import (
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// Single tracks whose truth is known: MIDI songs, each channel rendered by itself, the mix
// their sum. TONEPLUMB_MIDI_FILES names the folder of the songs; .ci/run fetches
// them. A filter is put on one stem or on the sum, and it is asked who carries the
// difference.

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

func (m *memory) Warnings() []string { return nil }
func (m *memory) Close() error       { return nil }

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
	return Advise(c.Solve(solve), inStep(t, mix, mixSound, names, stems), o)
}

func inStep(t *testing.T, mix *measure.Recording, mixSound sound, names []string, stems []sound) *measure.Together {
	t.Helper()
	open := func(_ context.Context, path string) (audio.Source, error) {
		if path == mix.Path {
			return &memory{x: mixSound, rateHz: 44100}, nil
		}
		return &memory{x: stems[slices.Index(names, path)], rateHz: 44100}, nil
	}
	together, err := measure.InStep(context.Background(), open, mix.Path, mix.GateWeights(), names, 2)
	if err != nil {
		t.Fatal(err)
	}
	return together
}

// song is a song in stems.
type song struct {
	name  string
	names []string
	stems []sound
	later []sound
}

// truthSongs are those whose first minute has four or more tracks at once.
var truthSongs = []string{"flying_scotsman", "chuggachugga", "keep_on_rolling", "careless_perc_redfarn", "city_blues_redfarn", "boogi_marabi_redfarn", "5432gone_redfarn", "say_what_redfarn", "tttheme2", "mighty_giant_run"}

const truthSec = 60

// stemsOf renders the channels of a song. Between runs they may be kept in the folder TONEPLUMB_STEMS.
func stemsOf(t *testing.T, path string) song {
	t.Helper()
	file, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	channels, err := splitMIDI(file)
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	s := song{name: strings.TrimSuffix(filepath.Base(path), ".mid")}
	for c, midi := range channels {
		if midi == nil {
			continue
		}
		x := render(t, midi, 2*truthSec)
		y := sound{x[0], x[1]}
		s.stems = append(s.stems, y.part(0, truthSec*44100))
		s.later = append(s.later, y.part(truthSec*44100, 2*truthSec*44100))
		s.names = append(s.names, fmt.Sprintf("channel-%d.wav", c+1))
	}
	return s
}

// truthCase is one song with a filter somewhere.
type truthCase struct {
	song, kind string
	filter     biquad.Filter
	want       int // the stem; −1: the master
}

func TestTruth(t *testing.T) {
	folder := os.Getenv("TONEPLUMB_MIDI_FILES")
	if folder == "" {
		t.Skip("TONEPLUMB_MIDI_FILES names no folder of MIDI songs; .ci/run does")
	}
	var lock sync.Mutex
	right, all := map[string]int{}, map[string]int{}
	worst := 0.0
	var previous *measure.Recording
	t.Run("songs", func(t *testing.T) {
		for _, name := range truthSongs {
			t.Run(name, func(t *testing.T) {
				t.Parallel()
				s := stemsOf(t, filepath.Join(folder, name+".mid"))
				plain := sumOf(s.stems)
				later := sumOf(s.later)
				whole, laterRef := measured(t, plain, "plain.wav"), measured(t, later, "later.wav")
				lock.Lock()
				other := previous
				previous = whole
				lock.Unlock()
				for _, tc := range casesOf(s, inStep(t, whole, plain, s.names, s.stems)) {
					stems := slices.Clone(s.stems)
					mixSound := plain
					switch {
					case tc.want >= 0:
						stems[tc.want] = stems[tc.want].through(tc.filter)
						mixSound = sumOf(stems)
					case tc.kind == "every track":
						for i := range stems {
							stems[i] = stems[i].through(tc.filter)
						}
						mixSound = sumOf(stems)
					default:
						mixSound = plain.through(tc.filter)
					}
					mix := measured(t, mixSound, "mix.wav")
					a := advised(t, mix, mixSound, whole, s.names, stems, Options{})
					ok, said := judgeTruth(a, tc.want)
					for _, ref := range []*measure.Recording{laterRef, other} {
						if ref == nil {
							continue
						}
						c, err := match.Compare(mix, []*measure.Recording{ref}, match.DefaultCompare())
						if err != nil {
							t.Fatal(err)
						}
						r := c.Solve(match.SolveOptions{})
						back := tc.filter
						back.GainDB = -back.GainDB
						r.Moves = []match.Move{{Filter: back}}
						b := Advise(r, a.Together, Options{})
						m := b.Moves[0]
						d := 0.0
						for _, z := range r.Zones {
							if tc.filter.FreqHz >= z.LowHz && tc.filter.FreqHz < z.HighHz {
								d = z.DifferenceDB
							}
						}
						t.Logf("HARD %s %d want %d said %d same %v share %.2f master %.2f best %.2f zone diff %.1f tracks %.2f shares %.2f", ref.Path, ref.Rows, tc.want, m.Track, m.Why.SameMoments, at(m.Shares, m.Track), m.Why.MasterDB, at(m.Why.TrackDB, m.Track), d, m.Why.TrackDB, m.Shares)
					}
					lock.Lock()
					all[tc.kind]++
					if ok {
						right[tc.kind]++
					}
					lock.Unlock()
					t.Logf("%-14s %v %4.0f Hz %+.1f dB want %2d: ok %v%s", tc.kind, tc.filter.Shape, tc.filter.FreqHz, tc.filter.GainDB, tc.want, ok, said)
				}
			})
		}
	})
	for _, kind := range []string{"one track", "sum", "every track"} {
		t.Logf("%-40s %d of %d", kind, right[kind], all[kind])
	}
	t.Logf("worst %.3f", worst)
}

// judgeTruth tells whether the largest move is put where the filter was.
func judgeTruth(a *Advice, want int) (bool, string) {
	best, said := -1, ""
	for i, m := range a.Moves {
		if best < 0 || math.Abs(m.Filter.GainDB) > math.Abs(a.Moves[best].Filter.GainDB) {
			best = i
		}
		second := math.Inf(1)
		for k, d := range m.Why.TrackDB {
			if k != m.Track {
				second = min(second, d)
			}
		}
		share := 0.0
		if m.Track >= 0 {
			share = m.Shares[m.Track]
		}
		wanted := math.NaN()
		if want >= 0 {
			wanted = m.Why.TrackDB[want]
		}
		said += fmt.Sprintf("\n      %v %.0f Hz %+.1f dB: where %d track %d share %.2f rest %.2f master %.2f best %.2f second %.2f wanted %.2f paired %v n %d", m.Filter.Shape, m.Filter.FreqHz, m.Filter.GainDB, m.Where, m.Track, share, m.RestShare,
			m.Why.MasterDB, at(m.Why.TrackDB, m.Track), second, wanted, m.Why.SameMoments, m.Why.Seconds)
	}
	if best < 0 {
		return false, " no move"
	}
	m := a.Moves[best]
	if want < 0 {
		return m.Where == Master, said
	}
	return m.Where == OnTrack && m.Track == want, said
}

func at(x []float64, i int) float64 {
	if i < 0 {
		return math.NaN()
	}
	return x[i]
}

// casesOf chooses filters that can be heard: on the three stems with the largest share of
// a zone each, and on the sum.
func casesOf(s song, together *measure.Together) []truthCase {
	type place struct {
		stem  int
		hz    float64
		share float64
	}
	var places []place
	for z, zone := range match.Zones()[1:6] {
		_ = z
		for k, tr := range together.Tracks {
			x, m := 0.0, 0.0
			for b := range spectrum.BandCount {
				if hz := spectrum.CentreHz(b); hz >= zone.LowHz && hz < zone.HighHz {
					x, m = x+tr.Re[b], m+together.MixPower[b]
				}
			}
			places = append(places, place{k, math.Sqrt(zone.LowHz * zone.HighHz), x / m})
		}
	}
	slices.SortStableFunc(places, func(a, b place) int {
		switch {
		case a.share > b.share:
			return -1
		case a.share < b.share:
			return 1
		}
		return 0
	})
	var cases []truthCase
	used := map[int]bool{}
	gains := []float64{6, 5, 8, -6}
	for _, p := range places {
		if used[p.stem] || len(cases) == 3 || p.share < 0.25 {
			continue
		}
		used[p.stem] = true
		g := gains[(len(cases)+len(s.name))%len(gains)]
		f := biquad.Filter{Shape: biquad.Bell, FreqHz: p.hz, GainDB: g, Q: 0.8}
		switch {
		case p.hz > 3000:
			f = biquad.Filter{Shape: biquad.HighShelf, FreqHz: 3000, GainDB: g, Q: math.Sqrt2 / 2}
		case p.hz < 150:
			f = biquad.Filter{Shape: biquad.LowShelf, FreqHz: 160, GainDB: g, Q: math.Sqrt2 / 2}
		}
		cases = append(cases, truthCase{s.name, "one track", f, p.stem})
	}
	n := len(s.name) % 3
	for i := range 3 {
		f := []biquad.Filter{
			{Shape: biquad.LowShelf, FreqHz: 140, GainDB: 4, Q: math.Sqrt2 / 2},
			{Shape: biquad.Bell, FreqHz: 350, GainDB: 5, Q: 0.7},
			{Shape: biquad.Bell, FreqHz: 2500, GainDB: -5, Q: 0.8},
			{Shape: biquad.HighShelf, FreqHz: 4000, GainDB: 5, Q: math.Sqrt2 / 2},
			{Shape: biquad.Bell, FreqHz: 900, GainDB: 4, Q: 0.6},
		}[(n+2*i)%5]
		kind := "sum"
		if i == 1 {
			kind = "every track"
		}
		cases = append(cases, truthCase{s.name, kind, f, -1})
	}
	return cases
}
