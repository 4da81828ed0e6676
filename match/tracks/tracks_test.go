package tracks

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"

	"gonum.org/v1/gonum/floats"

	"toneplumb/biquad"
	"toneplumb/match"
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

// effectToleranceDB is how far the predicted curve of the mix may lie off. Our choice: the
// last decimal that is printed.
const effectToleranceDB = 0.1

// checkEffect filters the track and measures the mix again.
func checkEffect(t *testing.T, a *Advice, x *TrackMove, mix sound, stems []sound) {
	t.Helper()
	if apart := effectApart(t, a, x, mix, stems); apart > effectToleranceDB {
		t.Errorf("predicted and measured curve lie %.3f dB apart", apart)
	}
}

// effectApart returns how far the predicted change of the mix's curve and the measured one
// lie apart: the most over the judged bands, smoothed over a third of an octave.
func effectApart(t *testing.T, a *Advice, x *TrackMove, mix sound, stems []sound) float64 {
	var at []sound
	for _, i := range x.Tracks {
		at = append(at, stems[i])
	}
	after := silence(len(mix), len(mix[0])).plus2(mix, sumOf(at).through(x.Filter), sumOf(at))
	return curveApart(t, a, after, x.EffectDB)
}

// curveApart is how far the mix's measured change lies from a predicted one.
func curveApart(t *testing.T, a *Advice, after sound, effectDB []float64) float64 {
	moved := measured(t, after, "after.wav")
	got := moved.MeanPower(a.Together.Gate)
	left := make([]bool, spectrum.BandCount)
	change := make([]float64, spectrum.BandCount)
	for b := range change {
		left[b] = a.Result.LeftOut[b].Cause != match.Kept
		change[b] = spectrum.PowerToDB(max(got[b], tiny) / max(a.Together.MixPower[b], tiny))
	}
	s := spectrum.NewSmoother(left, a.Result.Options.SmoothOct)
	measuredDB, predicted := s.Smooth(nil, change), s.Smooth(nil, effectDB)
	most := 0.0
	for b, why := range a.Result.LeftOut {
		if hz := spectrum.CentreHz(b); why.Cause == match.Kept && hz >= a.Result.Options.RangeHz[0] && hz <= a.Result.Options.RangeHz[1] {
			most = max(most, math.Abs(measuredDB[b]-predicted[b]))
		}
	}
	return most
}

// plus2 adds a mix and what a track gains.
func (s sound) plus2(mix, with, without sound) sound {
	for c := range s {
		for i := range s[c] {
			s[c][i] = mix[c][i] + with[c][i] - without[c][i]
		}
	}
	return s
}

// trimToleranceLU: the trim is measured; what is left is the filter's ringing after the end.
const trimToleranceLU = 0.02

func checkTrim(t *testing.T, a *Advice, x *TrackMove, stems []sound) {
	t.Helper()
	on := x.Tracks[0]
	before := measured(t, stems[on], "before.wav").LoudnessLUFS
	after := measured(t, stems[on].through(x.Filter), "after.wav").LoudnessLUFS
	if want := before - after; math.Abs(x.TrimsDB[0]-want) > trimToleranceLU {
		t.Errorf("a trim of %.2f dB, want %.2f", x.TrimsDB[0], want)
	}
	if lu := a.Tracks[on].LoudnessLUFS; math.Abs(lu-before) > 0.01 {
		t.Errorf("the track is said to have %.2f LUFS, and has %.2f", lu, before)
	}
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

// Two tracks of the same range at once stand in each other's way; the one that needs it
// less is cut, or the one that is to stand behind.
func TestPairs(t *testing.T) {
	testkit.Skip(t, "advises on synthesised tracks")
	a, b := band(11, 2500), band(12, 2500)
	for c := range a { // both all the time, near-equal
		rng := rand.New(rand.NewPCG(uint64(c), 8))
		for i := range a[c] {
			a[c][i], b[c][i] = float32(0.03*rng.NormFloat64()), float32(0.03*rng.NormFloat64())
		}
	}
	presence := biquad.Filter{Shape: biquad.Bell, FreqHz: 3150, GainDB: 20, Q: 0.7}
	voice := a.through(presence)
	keys := b.through(presence).plus(b.through(biquad.Filter{Shape: biquad.HighCut, FreqHz: 120, CutDBPerOct: 12}).times(40)) // more below: needs it less
	stems, names := []sound{voice, keys}, []string{"voice.wav", "keys.wav"}
	mixSound := sumOf(stems)
	mix := measured(t, mixSound, "mix.wav")
	ref := measured(t, mixSound.through(excess), "ref.wav")
	for _, c := range []struct {
		name   string
		o      Options
		cut    int
		reason CutReason
	}{
		{"by need", Options{}, 1, NeedsLess},
		{"keys in front", Options{Front: []int{1}}, 0, OtherFronts},
		{"voice behind", Options{Back: []int{0}}, 0, StandsBack},
	} {
		a := advised(t, mix, mixSound, ref, names, stems, c.o)
		i := -1
		for j, p := range a.Pairs {
			if a.Zones[p.Zone].Name == "high mids" {
				i = j
			}
		}
		if i < 0 {
			t.Fatalf("%s: no pair in the high mids: %+v", c.name, a.Pairs)
		}
		p := a.Pairs[i]
		if p.Share < 0.9 || p.Cut != c.cut || p.Reason != c.reason {
			t.Errorf("%s: %+v", c.name, p)
		}
		if g := p.Filter.GainDB; p.Filter.Q > 1 || g < -3 || g > -1 || p.TrimDB < 0 {
			t.Errorf("%s: a cut of %+v, trim %.1f", c.name, p.Filter, p.TrimDB)
		}
		if n := len(c.o.Front) + len(c.o.Back); len(a.Placings) != n {
			t.Errorf("%s: %d placings, want %d", c.name, len(a.Placings), n)
		}
		// A plan that reaches the same song's trusted mix leaves no room to make, unless the person
		// wants a track elsewhere; one that does not reach it, or a hint, does.
		for name, plan := range map[string]*Plan{"reaches": {Firm: true, NarrowedDB: 0.05}, "falls short": {Firm: true, NarrowedDB: 1}, "hint": {NarrowedDB: 0.05}} {
			want := name != "reaches" || len(c.o.Front)+len(c.o.Back) > 0
			if got := len(a.session.pairs(c.o, plan)) > 0; got != want {
				t.Errorf("%s, a plan that %s: pairs %v, want %v", c.name, name, got, want)
			}
		}
		a.Plan, a.Pairs = &Plan{Firm: true}, nil
		if a.dropPlan(); a.Plan != nil || len(a.Pairs) == 0 {
			t.Errorf("%s: a dropped plan leaves %d pairs", c.name, len(a.Pairs))
		}
	}
}

// A low cut is told where a track has almost nothing of its own but the mix has it.
func TestLowCuts(t *testing.T) {
	testkit.Skip(t, "advises on synthesised tracks")
	names, stems := quartet()
	rumble := silence(2, len(stems[0][0]))
	rng := rand.New(rand.NewPCG(5, 5))
	for i := range rumble[0] {
		v := float32(0.005 * rng.NormFloat64())
		rumble[0][i], rumble[1][i] = v, v
	}
	rumble = rumble.through(biquad.Filter{Shape: biquad.HighCut, FreqHz: 60, CutDBPerOct: 24})
	clean := biquad.Filter{Shape: biquad.LowCut, FreqHz: 1000, CutDBPerOct: 24}
	stems[3] = stems[3].through(clean).times(3).plus(rumble) // bright, with rumble
	stems[0] = stems[0].times(0.05)
	for i := 1; i <= 2; i++ {
		stems[i] = stems[i].through(biquad.Filter{Shape: biquad.LowCut, FreqHz: 300, CutDBPerOct: 24}, biquad.Filter{Shape: biquad.LowCut, FreqHz: 300, CutDBPerOct: 24})
	}
	mixSound := sumOf(stems)
	mix := measured(t, mixSound, "mix.wav")
	a := advised(t, mix, mixSound, measured(t, mixSound.through(excess), "ref.wav"), names, stems, Options{})
	for _, c := range a.LowCuts {
		if c.Track == 3 {
			if c.OwnShare >= 0.01 || c.MixShare < 0.023 || c.Filter.FreqHz < 30 || c.Filter.FreqHz > 400 || c.TrackLU > 0 || c.TrackLU < -0.5 {
				t.Errorf("%+v", c)
			}
			return
		}
	}
	t.Errorf("no low cut for the track with rumble: %+v", a.LowCuts)
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

func TestSplitMIDI(t *testing.T) {
	// Two channels with running status and a tempo in one chunk.
	events := "\x00\xff\x51\x03\x07\xa1\x20\x00\x90\x3c\x40\x10\x3e\x40\x00\x91\x40\x40\x81\x00\xff\x2f\x00"
	file := "MThd\x00\x00\x00\x06\x00\x00\x00\x01\x00\x60MTrk\x00\x00\x00" + string(rune(len(events))) + events
	parts, err := splitMIDI([]byte(file))
	if err != nil {
		t.Fatal(err)
	}
	want := "\x00\xff\x51\x03\x07\xa1\x20\x10\x91\x40\x40\x81\x00\xff\x2f\x00"
	if got := string(parts[1]); !strings.HasSuffix(got, want) {
		t.Errorf("channel 2 is %q, want %q at its end", got, want)
	}
	if parts[0] == nil || parts[2] != nil {
		t.Error("channels without a note are there, or the first is not")
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
