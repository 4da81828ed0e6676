package tracks

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum/audio"
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
		{{"nothing", 4, empty, Silent, "nothing: silent 0", false}, {"again", 5, stems[1], Duplicate, "again: duplicate 0 warm", false}},
		{{"warm", 1, stems[1].times(20), Heard, "warm: other-level -26", true},
			{"clear", 2, stems[2].times(-1), Heard, "clear: inverted 0", true},
			{"bright", 3, longer, Heard, "bright: longer 5", true}},
		{{"low", 0, stems[0][:1], Heard, "", false}, {"warm", 1, stems[1].times(0.6), Heard, "", false}, {"part", 4, inParts, Heard, "", false}},
		{{"warm", 1, stems[1].part(0, 12*44100), Heard, "warm: shorter 12", false}, {"bright", 3, high.later(1), Heard, "bright: delayed ", false}},
		{{"warm", 1, stems[1].later(441), Absent, "warm: starts-elsewhere 0.01", false}}, // a plug-in's delay
		{{"warm", 1, stems[1].later(22), Heard, "warm: delayed 0.000499", false}},
		{{"all", 4, mixSound, Heard, "all: is-the-mix 0", false}},
		{{"warm", 1, stems[1].times(20), Heard, "warm: other-level -26", false}, {"clear", 2, empty, Silent, "", false}, {"bright", 3, empty, Silent, "", false}},
		{{"bright", 3, stems[3].later(4 * 44100), Absent, "bright: starts-elsewhere 4", false}},
		{{"warm", 1, band(99, 350), Absent, "warm: absent 0", false}}, // of another song
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
		all := codesOf(a)
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
	warnings := codesOf(a)
	for _, want := range []string{"pad: below-gate 0", "hit: too-brief -15.9"} {
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
	warnings := codesOf(a)
	if a.Tracks[4].State != Heard || a.Tracks[4].PlaceDB != 0 || !strings.Contains(warnings, "hit: too-brief") {
		t.Errorf("a hit: state %d, %+.1f dB, %q", a.Tracks[4].State, a.Tracks[4].PlaceDB, warnings)
	}
	if strings.Count(warnings, ": absent") != 1 || !strings.Contains(warnings, "one, two: absent") {
		t.Errorf("strangers: %q", warnings)
	}
	// The track that carries it is not given.
	a = advised(t, mix, plain, ref, []string{names[0], names[3]}, []sound{stems[0], stems[3]}, Options{})
	m, ok := largest(a)
	if !ok || m.Where != Either || !m.Missing() {
		t.Errorf("without the track: where %d on %d, a rest of %.2f, %+v", m.Where, m.Track, m.RestShare, m.Why)
	}
}

// codesOf returns the findings: names, code and amounts, and the track that one duplicates.
func codesOf(a *Advice) string {
	var all strings.Builder
	for _, f := range a.Findings {
		var names []string
		for _, i := range f.Tracks {
			names = append(names, a.Tracks[i].Name)
		}
		fmt.Fprintf(&all, "%s: %s", strings.Join(names, ", "), f.Code())
		for _, x := range f.Amounts {
			fmt.Fprintf(&all, " %.3g", x)
		}
		if f.Kind == IsDuplicate {
			all.WriteString(" " + a.Tracks[f.Other].Name)
		}
		all.WriteString("\n")
	}
	return all.String()
}
