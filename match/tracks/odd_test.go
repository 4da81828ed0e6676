package tracks

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/measure/multitrack"
	"toneplumb/spectrum/testkit"
)

// What may be wrong with tracks: each is told, beside another fault too, and the shares of the others stay.
func TestOddTracks(t *testing.T) {
	testkit.Skip(t, "advises ten times")
	names, stems := quartet()
	mixSound := sumOf(stems)
	mix := measured(t, mixSound, "mix.wav")
	ref := measured(t, mixSound.through(excess), "ref.wav")
	plain := advised(t, mix, mixSound, ref, names, stems, Options{})
	const shareTolerance = 0.02 // chance over so short a time
	type odd struct {
		name  string
		track int // what stands in its place, or after the last
		sound sound
		state State
		warn  string
		share bool // the track's shares stay as they were
	}
	longer := silence(2, len(mixSound[0])+5*44100).plus(stems[3])
	high := stems[3].through(biquad.Filter{Shape: biquad.LowCut, FreqHz: 8000, CutDBPerOct: 24})
	inParts := stems[1].times(0.4).plus(band(77, 350).times(0.01)) // shares a sound with the rest
	empty := silence(2, len(mixSound[0]))
	for _, c := range [][]odd{
		{{"nothing", 4, empty, Silent, "nothing is silent", false}, {"again", 5, stems[1], Duplicate, "again is the same sound as warm", false}},
		{{"warm", 1, stems[1].times(20), Heard, "warm is 26.0 dB softer in the mix", true},
			{"clear", 2, stems[2].times(-1), Heard, "clear has its polarity inverted in the mix", true},
			{"bright", 3, longer, Heard, "bright is 5 s longer than the mix", true}},
		{{"low", 0, stems[0][:1], Heard, "", false}, {"warm", 1, stems[1].times(0.6), Heard, "", false}, {"part", 4, inParts, Heard, "", false}},
		{{"warm", 1, stems[1].part(0, 12*44100), Heard, "warm ends 12 s before the mix", false}, {"bright", 3, high.later(1), Heard, "bright fits better 0.0", false}},
		{{"warm", 1, stems[1].later(441), Absent, "warm does not start with the mix: it seems about 10.0 ms late, and is not counted", false}}, // a plug-in's delay
		{{"warm", 1, stems[1].later(22), Heard, "warm fits better 0.5 ms earlier", false}},
		{{"all", 4, mixSound, Heard, "all is the whole mix", false}},
		{{"warm", 1, stems[1].times(20), Heard, "warm is 26.0 dB softer in the mix", false}, {"clear", 2, empty, Silent, "", false}, {"bright", 3, empty, Silent, "", false}},
		{{"bright", 3, stems[3].later(4 * 44100), Absent, "it seems about 4 s late", false}},
		{{"warm", 1, band(99, 350), Absent, "warm cannot be found in the mix", false}}, // of another song
	} {
		names, stems := slices.Clone(names), slices.Clone(stems)
		change, kept := map[int]bool{}, true
		for _, o := range c {
			if o.track < len(stems) {
				stems[o.track] = o.sound
			} else {
				names, stems = append(names, o.name+".wav"), append(stems, o.sound)
			}
			change[o.track], kept = !o.share, kept && o.warn == ""
		}
		a := Advise(plain.Result, inStep(t, mix, mixSound, names, stems), Options{})
		all := strings.Join(a.Warnings(), "\n")
		if kept && all != "" {
			t.Errorf("%s: warnings %q, want none", c[0].name, all)
		}
		for _, o := range c {
			if a.Tracks[o.track].State != o.state {
				t.Errorf("%s, %q: state %d, want %d", o.name, o.warn, a.Tracks[o.track].State, o.state)
			}
			if !strings.Contains(all, o.warn) {
				t.Errorf("%s: warnings %q, want %q", o.name, all, o.warn)
			}
		}
		for i := range plain.Tracks {
			for z := range a.Zones {
				if got, want := a.Tracks[i].ShareOfZones[z], plain.Tracks[i].ShareOfZones[z]; !change[i] && a.Tracks[i].State == Heard && math.Abs(got-want) > shareTolerance {
					t.Errorf("%q: %s holds %.2f of the %s, want %.2f", c[0].warn, a.Tracks[i].Name, got, a.Zones[z].Name, want)
				}
			}
		}
	}
}

// What holds of several tracks is said once.
func TestRemarks(t *testing.T) {
	for _, c := range []struct {
		names   []string
		amounts []float64
		want    string
	}{
		{[]string{"bass"}, []float64{0.0012}, "bass fits better 1.2 ms earlier"},
		{[]string{"bass", "keys 100%"}, []float64{0.0012, 0.0012}, "bass and keys 100% fit better 1.2 ms earlier"},
		{[]string{"bass", "keys", "horns"}, []float64{0.0012, 0.0003, 0.0012}, "bass (1.2 ms), keys (0.3 ms) and horns (1.2 ms) fit better earlier"},
		{[]string{"a", "b", "c", "d"}, []float64{0.012, 0.012, 0.012, 0.012}, "All 4 tracks fit better 12.0 ms earlier"},
	} {
		a := &Advice{}
		var all findings
		for i, name := range c.names {
			a.Tracks = append(a.Tracks, Track{Name: name})
			all.add(Finding{Kind: IsDelayed, Tracks: []int{i}, Amounts: []float64{c.amounts[i]}})
		}
		all.add(Finding{Kind: DecoderSays, Tracks: []int{0}, Amounts: []float64{0}, Remark: audio.Remark{Kind: codec.FFmpegComplains, Text: "50 % of it lost"}})
		a.Findings = all
		if got := a.Warnings(); len(got) != 2 || !strings.HasPrefix(got[0], c.want) || got[1] != c.names[0]+": the file is damaged: ffmpeg says 50 % of it lost." {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

func TestOtherRateIsRefused(t *testing.T) {
	x := band(1, 300)
	open := func(_ context.Context, path string) (audio.Source, error) {
		rate := 44100
		if path == "track.wav" {
			rate = 48000
		}
		return &memory{x: x, rateHz: rate}, nil
	}
	_, err := multitrack.Measure(context.Background(), open, "mix.wav", []float64{1}, []string{"track.wav"}, 1)
	var e *audio.Error
	if !errors.As(err, &e) || e.Path != "track.wav" || e.Problem != "is sampled at 48 kHz, the mix at 44.1 kHz" || e.Hint == "" {
		t.Errorf("%v", err)
	}
}

// A track that sounds where the mix is too soft to count is no stranger, and one that sounds too
// briefly to be found stands as the others do.
func TestHiddenTracks(t *testing.T) {
	testkit.Skip(t, "advises on synthesised tracks")
	const intro, softer = 10 * 44100, 0.16 // a fader on the master, −16 dB
	names, stems := quartet()
	pad, hit := silence(2, len(stems[0][0])), silence(2, len(stems[0][0]))
	for c := range pad {
		for i := range stems {
			clear(stems[i][c][:intro])
		}
		rng := rand.New(rand.NewPCG(22, uint64(c)))
		for i := range intro - 2*44100 {
			pad[c][i] = float32(0.0004 * rng.NormFloat64())
		}
		for i := range 22050 {
			hit[c][15*44100+i] = float32(0.02 * rng.NormFloat64())
		}
	}
	names, stems = append(names, "pad.wav", "hit.wav"), append(stems, pad, hit)
	mixSound := sumOf(stems).times(softer)
	mix := measured(t, mixSound, "mix.wav")
	a := advised(t, mix, mixSound, measured(t, mixSound.through(excess), "ref.wav"), names, stems, Options{})
	warnings := strings.Join(a.Warnings(), "\n")
	for _, want := range []string{"pad sounds only where the mix is too soft to count", "hit sounds too briefly to be found in the mix, and is taken 15.9 dB softer, as the others stand"} {
		if !strings.Contains(warnings, want) {
			t.Errorf("no %q in:\n%s", want, warnings)
		}
	}
	if a.Tracks[4].State != Heard || math.Abs(a.Tracks[5].PlaceDB+15.9) > 0.1 {
		t.Errorf("%+v", a.Tracks[4:])
	}
}

// A track that sounds for a second is no stranger; strangers are named together; and where most
// of the mix is in no track, none is named and neither is the master.
func TestBriefAndMissing(t *testing.T) {
	testkit.Skip(t, "advises on synthesised tracks")
	names, stems := quartet()
	hit := silence(2, len(stems[0][0]))
	for c := range hit {
		rng := rand.New(rand.NewPCG(21, uint64(c)))
		for i := range 44100 {
			hit[c][10*44100+i] = float32(0.02 * rng.NormFloat64())
		}
	}
	plain := sumOf(append(stems[:4:4], hit))
	mix := measured(t, plain, "mix.wav")
	other := slices.Clone(stems)
	other[1] = other[1].through(excess)
	ref := measured(t, sumOf(other).plus(hit), "ref.wav")
	all := append(names[:4:4], "hit.wav", "one.wav", "two.wav")
	a := advised(t, mix, plain, ref, all, append(stems[:4:4], hit, band(31, 350), band(32, 900)), Options{})
	warnings := strings.Join(a.Warnings(), "\n")
	if a.Tracks[4].State != Heard || a.Tracks[4].PlaceDB != 0 || !strings.Contains(warnings, "hit sounds too briefly") {
		t.Errorf("a hit: state %d, %+.1f dB, %q", a.Tracks[4].State, a.Tracks[4].PlaceDB, warnings)
	}
	if strings.Count(warnings, " be found in the mix: ") != 1 || !strings.Contains(warnings, "one and two cannot be found in the mix") {
		t.Errorf("strangers: %q", warnings)
	}
	// The track that carries it is not given.
	a = advised(t, mix, plain, ref, []string{names[0], names[3]}, []sound{stems[0], stems[3]}, Options{})
	m, ok := largest(a)
	if !ok || m.Where != Either || !m.Missing() {
		t.Errorf("without the track: where %d on %d, a rest of %.2f, %+v", m.Where, m.Track, m.RestShare, m.Why)
	}
}

// Every kind of finding has a code of its own and a sentence.
func TestEveryKind(t *testing.T) {
	a := &Advice{Tracks: []Track{{Name: "bass"}, {Name: "keys"}}}
	codes := map[string]bool{}
	for kind := DecoderSays; kind <= OnMaster; kind++ {
		a.Findings = []Finding{{Kind: kind, Tracks: []int{0}, Amounts: []float64{0.5}, Other: 1, FreqHz: 100, Remark: audio.Remark{Kind: codec.NoStart}}}
		f := &a.Findings[0]
		if text := a.Warnings()[0]; codes[f.Code()] || text == "" || strings.Contains(text, "%!") {
			t.Errorf("kind %d, %s: %q", kind, f.Code(), text)
		}
		codes[f.Code()] = true
	}
}
