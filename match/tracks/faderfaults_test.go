package tracks

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum/measure"
)

// fault is what is wrong with a mix: faders and filters on stems, or a filter on the sum.
type fault struct {
	kind    string
	faders  map[int]float64 // dB that a stem is too loud
	filters map[int]biquad.Filter
	sum     []biquad.Filter
}

// reference kinds.
const (
	sameMoments = "the right mix"
	otherHalf   = "the song's other half"
	otherSong   = "another song"
)

// faderSong is a song in stems with the right mix's processing after the sum.
type faderSong struct {
	song
	after func(sound) sound
	how   string
}

func (f fault) stems(all []sound) []sound {
	out := slices.Clone(all)
	for k, db := range f.faders {
		out[k] = out[k].times(float32(math.Pow(10, db/20)))
	}
	for k, x := range f.filters {
		out[k] = out[k].through(x)
	}
	return out
}

func (f fault) mix(stems []sound) sound {
	sum := sumOf(f.stems(stems))
	if f.sum != nil {
		sum = sum.through(f.sum...)
	}
	return sum
}

// audibleDB is what each fault must change the mix by, alone and beside the others: less
// is no task for a fader. Our choice: twice what a fader must earn.
const audibleDB = 0.3

// casesEach is how many cases of one, two and three faders each song has: enough for 60 on plain
// sums, of the 12 songs in 16 that have nothing behind the sum.
const casesEach = 2

// faultsOf chooses faults that can be heard.
func faultsOf(t *testing.T, s faderSong, right *measure.Recording, rightSound sound, rng *rand.Rand) []fault {
	gain := func() float64 {
		g := 2 + 4*rng.Float64()
		if rng.IntN(2) == 0 {
			g = -g
		}
		return math.Round(10*g) / 10
	}
	filter := func() biquad.Filter {
		g := 4 + 2*rng.Float64()
		if rng.IntN(2) == 0 {
			g = -g
		}
		hz := 150 * math.Pow(2, 5*rng.Float64())
		return biquad.Filter{Shape: biquad.Bell, FreqHz: math.Round(hz), GainDB: math.Round(2*g) / 2, Q: 0.7 + 0.7*rng.Float64()}
	}
	session := planOf(t, right, right, inStep(t, right, rightSound, s.names, s.stems)).session
	apart := func(x, y []action) float64 { // the distance of two mixes, by the formula
		d, e := session.effectOf(x), session.effectOf(y)
		for b := range d {
			d[b] -= e[b]
		}
		return session.leaves(d)
	}
	audible := func(f fault) bool {
		var all []action
		for k, db := range f.faders {
			all = append(all, action{track: k, gainDB: db})
		}
		for k, x := range f.filters {
			all = append(all, action{track: k, filter: x, isFilter: true})
		}
		for i, a := range all {
			if apart(nil, []action{a}) < audibleDB || apart(all, slices.Delete(slices.Clone(all), i, i+1)) < audibleDB {
				return false
			}
		}
		return true
	}
	var all []fault
	try := func(kind string, make func() fault) {
		for range 60 {
			if f := make(); audible(f) {
				f.kind = kind
				all = append(all, f)
				return
			}
		}
		t.Logf("%s: no audible %q found", s.name, kind)
	}
	some := func(n int) map[int]float64 {
		m := map[int]float64{}
		for _, k := range rng.Perm(len(s.stems))[:min(n, len(s.stems))] {
			m[k] = gain()
		}
		return m
	}
	for n, kind := range []string{"one fader", "two faders", "three faders"} {
		for range casesEach {
			try(kind, func() fault { return fault{kind: kind, faders: some(n + 1)} })
		}
	}
	try("one filter", func() fault { return fault{filters: map[int]biquad.Filter{rng.IntN(len(s.stems)): filter()}} })
	try("one fader, one filter", func() fault {
		return fault{faders: some(1), filters: map[int]biquad.Filter{rng.IntN(len(s.stems)): filter()}}
	})
	all = append(all, fault{kind: "nothing"})
	all = append(all, fault{kind: "filter on the sum", sum: []biquad.Filter{filter()}})
	return all
}

// faderStems renders a song's channels, the drums by groups.
func faderStems(t *testing.T, path, font string) (s song) {
	s.name = strings.TrimSuffix(filepath.Base(path), ".mid")
	file, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	channels, err := splitMIDI(file)
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	add := func(name string, midi []byte) {
		x := renderWith(t, font, midi, 2*truthSec)
		y := sound{x[0], x[1]}
		if slices.Max(x[0][:truthSec*44100]) < 1e-3 {
			return
		}
		s.names = append(s.names, name+".wav")
		s.stems, s.later = append(s.stems, y.part(0, truthSec*44100)), append(s.later, y.part(truthSec*44100, 2*truthSec*44100))
	}
	for c, midi := range channels {
		switch {
		case midi == nil:
		case c == 9:
			groups, err := splitDrums(midi)
			if err != nil {
				t.Fatal(err)
			}
			for i, g := range groups {
				if g != nil {
					add(drumGroups[i].name, g)
				}
			}
		default:
			add(fmt.Sprintf("channel-%d", c+1), midi)
		}
	}
	return s
}

// reverberated adds a room of four combs and two all-passes after M. R. Schroeder, JAES 10
// (1962), 219–223 (from memory), about 1.2 s long, at −14 dB.
func reverberated(x sound) sound {
	out := silence(len(x), len(x[0]))
	for c := range x {
		wet := make([]float64, len(x[c]))
		for i, ms := range []float64{29.7, 37.1, 41.1, 43.7} {
			n := int((ms + 0.3*float64(c*(i+1))) * 44.1)
			g := math.Pow(10, -3*float64(n)/44100/1.2)
			line := make([]float64, n)
			for k, v := range x[c] {
				y := line[k%n]
				line[k%n] = float64(v) + g*y
				wet[k] += y / 4
			}
		}
		for _, ms := range []float64{5, 1.7} {
			n := int(ms * 44.1)
			line := make([]float64, n)
			for k, v := range wet {
				d := line[k%n]
				y := d - 0.7*v
				line[k%n] = v + 0.7*y
				wet[k] = y
			}
		}
		for k := range out[c] {
			out[c][k] = x[c][k] + float32(0.5*wet[k])
		}
	}
	return out
}

// compressed holds peaks of the level together: 2:1 from 6 dB under the mean power of
// what sounds, 10 ms up, 150 ms down.
func compressed(x sound) sound {
	power := 0.0
	for _, y := range x {
		for _, v := range y {
			power += float64(v) * float64(v) / float64(len(x[0]))
		}
	}
	threshold := 10*math.Log10(power) - 6
	out := silence(len(x), len(x[0]))
	level := 0.0
	up, down := math.Exp(-1/(0.010*44100)), math.Exp(-1/(0.150*44100))
	for k := range x[0] {
		p := 0.0
		for c := range x {
			p += float64(x[c][k]) * float64(x[c][k])
		}
		a := down
		if p > level {
			a = up
		}
		level = a*level + (1-a)*p
		over := max(0, 10*math.Log10(level+1e-12)-threshold)
		g := float32(math.Pow(10, -over/2/20))
		for c := range x {
			out[c][k] = g * x[c][k]
		}
	}
	return out
}

// faderSongOf renders a song; two in eight have something behind the sum.
func faderSongOf(t *testing.T, folder string, at int, font string) faderSong {
	s := faderSong{song: faderStems(t, filepath.Join(folder, faderSongs()[at]+".mid"), font), after: func(x sound) sound { return x }, how: "plain sum"}
	switch at % 8 {
	case 2:
		s.after, s.how = reverberated, "reverb"
	case 3:
		s.after, s.how = compressed, "compressor"
	}
	return s
}

const (
	faderToleranceDB  = 0.3     // of a fader of the same song, as asked for
	filterToleranceDB = 1.0     // of a filter's gain
	filterOct         = 1.0 / 3 // of its frequency
	renderToleranceDB = 0.1     // between computed and rendered distance
)
