package tracks

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"sync"
	"testing"

	"gonum.org/v1/gonum/floats"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure/multitrack"
	"toneplumb/spectrum/testkit"
)

const synthSec = 24 // enough to tell a copy, and to find a track that starts 4 s late

// band is a track of falling noise around a frequency, which plays in phrases of a second.
func band(seed uint64, hz float64) sound { return noise(seed, hz, 20, 3) }

// noise is a band of noise whose level moves by spreadDB, and which is silent in one of that many seconds.
func noise(seed uint64, hz, spreadDB float64, silent int) sound {
	rng := rand.New(rand.NewPCG(seed, 3))
	x := silence(2, synthSec*44100)
	level := 0.0
	for i := range x[0] {
		if i%44100 == 0 {
			level = 0.05 * math.Pow(10, -spreadDB*rng.Float64()/20)
			if rng.IntN(silent) == 0 {
				level = 0
			}
		}
		both := rng.NormFloat64()
		x[0][i], x[1][i] = float32(level*(both+0.2*rng.NormFloat64())), float32(level*(both+0.2*rng.NormFloat64()))
	}
	return x.through(biquad.Filter{Shape: biquad.HighCut, FreqHz: 200, CutDBPerOct: 6}, biquad.Filter{Shape: biquad.Bell, FreqHz: hz, GainDB: 20, Q: 0.7})
}

func (s sound) times(gain float32) sound {
	y := silence(len(s), len(s[0]))
	for c := range s {
		for i, v := range s[c] {
			y[c][i] = gain * v
		}
	}
	return y
}

func (s sound) later(frames int) sound {
	y := silence(len(s), len(s[0]))
	for c := range s {
		copy(y[c][frames:], s[c])
	}
	return y
}

// quartet is four tracks and their names; the caller may change them.
func quartet() ([]string, []sound) {
	var stems []sound
	for _, stem := range fourBands() {
		stems = append(stems, stem.times(1))
	}
	return []string{"low.wav", "warm.wav", "clear.wav", "bright.wav"}, stems
}

var fourBands = sync.OnceValue(func() []sound { return []sound{band(1, 90), band(2, 350), band(3, 1500), band(4, 6000)} })

var excess = biquad.Filter{Shape: biquad.Bell, FreqHz: 350, GainDB: 6, Q: 0.8}

func TestVerdicts(t *testing.T) {
	testkit.Skip(t, "advises on synthesised tracks")
	names, stems := quartet()
	plain := sumOf(stems)
	ref := measured(t, plain, "ref.wav")
	for _, c := range []struct {
		name  string
		stems func() []sound
		mix   func([]sound) sound
		want  Where
		track int
	}{
		{"a known excess on one track", func() []sound { return []sound{stems[0], stems[1].through(excess), stems[2], stems[3]} }, sumOf, OnTrack, 1},
		{"a known filter on the sum", func() []sound { return stems }, func(x []sound) sound { return sumOf(x).through(excess) }, Master, -1},
	} {
		x := c.stems()
		mixSound := c.mix(x)
		mix := measured(t, mixSound, "mix.wav")
		a := advised(t, mix, mixSound, ref, names, x, Options{})
		m, ok := largest(a)
		if !ok || m.Where != c.want || c.track >= 0 && m.Track != c.track {
			t.Fatalf("%s: %+v", c.name, a.Moves)
		}
		total := m.RestShare
		for _, share := range m.Shares {
			total += share
		}
		if math.Abs(total-1) > 1e-9 {
			t.Errorf("%s: shares and rest sum to %g", c.name, total)
		}
		if math.Abs(m.RestShare) > 0.02 { // the tracks are all there is, through a filter on their sum too
			t.Errorf("%s: a rest of %.2f", c.name, m.RestShare)
		}
		if c.want == Master {
			continue
		}
		checkEffect(t, a, m.Instead, mixSound, x)
		checkTrim(t, a, m.Instead, x)
	}
}

// largest is the move with the most gain.
func largest(a *Advice) (best Move, ok bool) {
	for _, m := range a.Moves {
		if !ok || math.Abs(m.Filter.GainDB) > math.Abs(best.Filter.GainDB) {
			best, ok = m, true
		}
	}
	return best, ok
}

// Two tracks with one filter on both carry it together; of two that share a sound the right one is found.
func TestTies(t *testing.T) {
	testkit.Skip(t, "advises on many ties")
	names, stems := quartet()
	second := band(5, 350) // a second track beside the second
	names, stems = append(names, "double.wav"), append(stems, second)
	ref := measured(t, sumOf(stems), "ref.wav")
	both := slices.Clone(stems)
	both[1], both[4] = both[1].through(excess), both[4].through(excess)
	mixSound := sumOf(both)
	mix := measured(t, mixSound, "mix.wav")
	a := advised(t, mix, mixSound, ref, names, both, Options{})
	m, ok := largest(a)
	if on := slices.Sorted(slices.Values(append([]int{m.Track}, m.With...))); !ok || m.Where != OnTrack || !slices.Equal(on, []int{1, 4}) {
		t.Fatalf("both: %d on %d with %v, %+v", m.Where, m.Track, m.With, m.Why)
	}
	if len(m.Instead.TrimsDB) != 2 {
		t.Errorf("trims %v", m.Instead.TrimsDB)
	}
	checkEffect(t, a, m.Instead, mixSound, both)

	// A track in two parts that share all but a little: both run alike,
	// each seems louder than it is, and the shares still sum to one.
	parts := slices.Clone(stems)
	parts[1], parts[4] = stems[1].times(0.5), stems[1].times(0.5).plus(second.times(0.02))
	ref = measured(t, sumOf(parts), "ref.wav")
	parts[1] = parts[1].through(excess)
	mixSound = sumOf(parts)
	mix = measured(t, mixSound, "mix.wav")
	a = advised(t, mix, mixSound, ref, names, parts, Options{})
	m, ok = largest(a)
	if !ok || m.Where != OnTrack || m.Track != 1 {
		t.Errorf("parts: %d on %d with %v alike %v, %+v", m.Where, m.Track, m.With, m.Alike, m.Why)
	}
	for z, zone := range a.Zones {
		if math.Abs(zone.RestShare) > 0.02 {
			t.Errorf("parts: a rest of %.2f in zone %d", zone.RestShare, z)
		}
	}
}

// The number of cores reaches no result.
func TestSameOnAnyNumberOfCores(t *testing.T) {
	testkit.Skip(t, "measures tracks three times")
	const seconds = 8
	names, stems := quartet()
	for i := range stems {
		stems[i] = stems[i].part(0, seconds*44100)
	}
	mixSound := sumOf(stems)
	open := func(_ context.Context, path string) (audio.Source, error) {
		for i, name := range names {
			if name == path {
				return &memory{x: stems[i], rateHz: 44100}, nil
			}
		}
		return &memory{x: mixSound, rateHz: 44100}, nil
	}
	gate := make([]float64, seconds)
	for i := range gate {
		gate[i] = 1
	}
	var first *multitrack.Table
	for _, cores := range []int{1, 2, 5} {
		together, err := multitrack.Measure(context.Background(), open, "mix.wav", gate, names, cores)
		if err != nil {
			t.Fatal(err)
		}
		if first == nil {
			first = together
		} else if !reflect.DeepEqual(first, together) {
			t.Errorf("%d cores give another table", cores)
		}
	}
}

func TestVerdict(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	for _, c := range []struct {
		name        string
		e           evidence
		shares      []float64
		where       Where
		track       int
		with, alike []int
	}{
		{"a track explains a copy", evidence{masterDB: 1.2, trackDB: []float64{2, 0.1}}, []float64{0.6, 0.3}, OnTrack, 1, nil, nil},
		{"the sum explains a copy", evidence{masterDB: 0.1, trackDB: []float64{2, 1.5}}, []float64{0.6, 0.3}, Master, 1, nil, nil},
		{"a track that holds all", evidence{masterDB: 0.1, trackDB: []float64{0.1, inf}}, []float64{1, 0}, Either, 0, nil, nil},
		{"two tracks that move together", evidence{masterDB: 1.2, trackDB: []float64{0.15, 0.1, 1}}, []float64{0.4, 0.3, 0.3}, OnTrack, 1, nil, []int{0}},
		{"two tracks that carry it together", evidence{masterDB: 1.2, trackDB: []float64{0.9, 0.8, 1}, group: []int{0, 2}, groupDB: 0.1}, []float64{0.2, 0.3, 0.4}, OnTrack, 2, []int{0}, nil},
		{"all tracks together are the sum", evidence{masterDB: 0.1, trackDB: []float64{0.9, 0.8}, group: []int{0, 1}, groupDB: 0.1}, []float64{0.6, 0.4}, Either, 0, []int{1}, nil},
		{"other music", evidence{masterDB: nan, trackDB: []float64{inf, inf}}, []float64{0.4, 0.5}, Either, 1, nil, nil},
		{"other music, no track where the move works", evidence{masterDB: nan, trackDB: []float64{inf, inf}}, []float64{0, 0}, Either, -1, nil, nil},
		{"no track is in the mix", evidence{masterDB: 2, trackDB: []float64{inf, inf}}, []float64{0, 0}, Master, -1, nil, nil},
	} {
		where, track, with, alike := verdict(c.e, c.shares)
		if where != c.where || track != c.track || !slices.Equal(with, c.with) || !slices.Equal(alike, c.alike) {
			t.Errorf("%s: %d on %d with %v, alike %v, want %d on %d with %v, alike %v", c.name, where, track, with, alike, c.where, c.track, c.with, c.alike)
		}
	}
}

// What is told of a move on tracks that share most of their sound is measured: how they run
// together is not in the table.
func TestMeasure(t *testing.T) {
	testkit.Skip(t, "measures synthesised tracks")
	names, stems := quartet()
	shared := band(7, 350)
	names = append(names, "other side.wav")
	stems[1] = shared.times(0.8).plus(stems[1].times(0.3))
	stems = append(stems, shared.times(-0.5).plus(band(8, 350).times(0.3))) // against the first
	plain := sumOf(stems)
	mix := measured(t, plain, "mix.wav")
	a := advised(t, mix, plain, measured(t, plain.through(excess), "ref.wav"), names, stems, Options{})
	if len(a.Moves) == 0 {
		t.Fatal("no move")
	}
	m := &a.Moves[0]
	set := []int{1, 4}
	m.Instead = &TrackMove{Tracks: set, Filter: excess, EffectDB: a.session.effect([]*track{a.session.tracks[1], a.session.tracks[4]}, []biquad.Filter{excess}), TrimsDB: []float64{3, -2}}
	computed := effectApart(t, a, m.Instead, plain, stems)
	if err := a.Measure(context.Background(), openOf(mix, plain, names, stems), 2); err != nil {
		t.Fatal(err)
	}
	const tolerance = 0.005 // dB: of float32 samples, and bins above 1 kHz that the analyser of recordings leaves out
	if apart := effectApart(t, a, m.Instead, plain, stems); apart > tolerance || apart >= computed {
		t.Errorf("%.4f dB from what a filter does, %.4f by the formula", apart, computed)
	}
	trimmed := plain // with the trims that were set, which are then replaced by what keeps each as loud
	for j, i := range set {
		trimmed = trimmed.plus(stems[i].through(excess).times([]float32{1.4125, 0.7943}[j])).plus(stems[i].times(-1))
	}
	if apart := curveApart(t, a, trimmed, m.Instead.TrimmedDB); apart > tolerance {
		t.Errorf("with trims %.4f dB from what they do", apart)
	}
	for j, i := range set {
		want := measured(t, stems[i], "before.wav").LoudnessLUFS - measured(t, stems[i].through(excess), "after.wav").LoudnessLUFS
		if math.Abs(m.Instead.TrimsDB[j]-want) > trimToleranceLU {
			t.Errorf("a trim of %.3f dB, want %.3f", m.Instead.TrimsDB[j], want)
		}
	}
	for _, c := range []struct {
		trimmed float64 // of the move
		mostly  bool
	}{{0, true}, {1, false}} { // none of the move is left, all of it
		x := &TrackMove{EffectDB: m.MasterDB, TrimmedDB: slices.Clone(m.MasterDB)}
		floats.Scale(c.trimmed, x.TrimmedDB)
		if a.session.show(x, m.MasterDB); x.MostlyLevel != c.mostly {
			t.Errorf("%g of it left: mostly level %v", c.trimmed, x.MostlyLevel)
		}
	}
	if !(m.Instead.ApartDB > 0) || len(m.Instead.ShownDB) != spectrum.BandCount || len(m.Instead.ShownTrimmedDB) != spectrum.BandCount {
		t.Errorf("%+v", m.Instead)
	}
	done, cancel := context.WithCancel(context.Background())
	cancel()
	if err := a.Measure(done, openOf(mix, plain, names, stems), 2); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}
