package tracks

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/multitrack"
	"toneplumb/spectrum/testkit"
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

// faderCase is a fault with what was found against one reference.
type faderCase struct {
	song, font, how, half, kind, reference string

	faders         int  // in the fault
	right          bool // all of the fault and nothing else
	balanced       bool // or as few faders that give the same balance at another level
	told           bool // beside the right mix, faders alone: fewer faders leave more, see canBeTold
	advised, held  int  // faders, and those whose sign is right and whose range holds the truth
	heldAtLevel    int  // the same, if all tracks had their level changed by what most of the fault has in common
	filters        int  // advised
	firm           bool
	restShare      float64
	movesDB        float64
	offRenderedDB  float64 // computed less rendered; NaN for no plan
	nothingAdvised bool
}

func TestFaderTruth(t *testing.T) {
	folder := os.Getenv("TONEPLUMB_MIDI_FILES")
	if folder == "" {
		t.Skip("TONEPLUMB_MIDI_FILES names no folder of MIDI songs; .ci/run does")
	}
	all := faderSongs()
	songs := all[1:2]
	long := os.Getenv("TONEPLUMB_LONG") != ""
	if long {
		songs = all
	}
	fonts := []string{soundFont}
	if other := os.Getenv("TONEPLUMB_FONT"); other != "" {
		fonts = append(fonts, other)
	}
	fontOf := func(at int) string { return fonts[at%len(fonts)] }
	of := make([][]faderCase, len(songs))
	t.Run("songs", func(t *testing.T) {
		for at, name := range songs {
			t.Run(name, func(t *testing.T) {
				t.Parallel()
				of[at] = faderCases(t, folder, slices.Index(all, name), fontOf(at))
			})
		}
	})
	found := slices.Concat(of...)
	if long && *testkit.Update && !t.Failed() {
		if err := os.WriteFile("testdata/faders.md", []byte(faderTable(found)), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	t.Log("\n" + faderTable(found))
	checkFaders(t, found)
}

// faderSongs are the songs, those that thresholds were chosen on and the others in turn.
func faderSongs() (all []string) {
	for i, name := range chosenOn {
		all = append(all, name)
		if i < len(heldOut) {
			all = append(all, heldOut[i])
		}
	}
	return all
}

// faderCases tries all faults of a song against all references.
func faderCases(t *testing.T, folder string, at int, font string) (found []faderCase) {
	s := faderSongOf(t, folder, at, font)
	half := "held out"
	if slices.Contains(chosenOn, s.name) {
		half = "chosen on"
	}
	m := faderTables(t, folder, at, font, s)
	for _, f := range m.Cases {
		for _, ref := range m.references() {
			a := f.plan(t, ref.of)
			c := faderCase{song: s.name, font: filepath.Base(font), how: s.how, half: half, kind: f.Kind, reference: ref.kind, faders: len(f.Faders), offRenderedDB: math.NaN(),
				restShare: f.RestShare, movesDB: a.session.additive().movesDB}
			if ref.kind == sameMoments {
				if a.Plan == nil {
					t.Fatalf("%s: no plan beside a copy", s.name)
				}
				if a.Plan.Steps() > 0 {
					predicted := a.Plan.AfterDB()
					is := f.fault()
					if err := a.measurePlan(context.Background(), openOf(f.Mix, s.after(is.mix(s.stems)), s.names, is.stems(s.stems))); err != nil {
						t.Fatal(err)
					}
					if a.Plan != nil {
						c.offRenderedDB = predicted - a.Plan.RenderedDB
					}
				}
			}
			said := judgePlan(&c, a.Plan, f.fault())
			c.balanced = c.right || sameBalance(a.session, a.Plan, f.fault())
			c.told = ref.kind == sameMoments && s.how == "plain sum" && len(f.Faders) > 0 && len(f.Filters) == 0 && canBeTold(a.session, f.fault())
			t.Logf("%-22s %-22s %-10s right %-5v balanced %-5v told %-5v firm %-5v rest %.3f moves %.2f %s", ref.kind, f.Kind, s.how, c.right, c.balanced, c.told, c.firm, c.restShare, c.movesDB, said)
			found = append(found, c)
		}
	}
	return found
}

// planOf is what Advise finds of the plan alone.
func planOf(t *testing.T, mix, ref *measure.Recording, together *multitrack.Table) *Advice {
	return planWith(t, mix, ref, together, Options{})
}

func planWith(t *testing.T, mix, ref *measure.Recording, together *multitrack.Table, with Options) *Advice {
	a := unplanned(t, mix, ref, together, with)
	a.Plan = a.session.plan()
	return a
}

func unplanned(t *testing.T, mix, ref *measure.Recording, together *multitrack.Table, with Options) *Advice {
	c, err := match.Compare(mix, []*measure.Recording{ref}, match.DefaultCompare())
	if err != nil {
		t.Fatal(err)
	}
	o := match.DefaultSolve()
	o.MaxMoves = 0
	a := &Advice{Result: c.Solve(o), Together: together, Groups: with.Groups}
	a.session = newSession(a.Result, together, with)
	a.Tracks = a.session.facts()
	return a
}

const (
	faderToleranceDB  = 0.3     // of a fader of the same song, as asked for
	filterToleranceDB = 1.0     // of a filter's gain
	filterOct         = 1.0 / 3 // of its frequency
	renderToleranceDB = 0.1     // between computed and rendered distance
)

// commonDB returns what the faders of a fault have in common: their median, if all have one sign.
func commonDB(faders map[int]float64) float64 {
	var all []float64
	for _, db := range faders {
		all = append(all, db)
	}
	if len(all) < 2 || slices.Min(all) < 0 && slices.Max(all) > 0 {
		return 0
	}
	return median(all)
}

// judgePlan fills in what a plan found of a fault.
func judgePlan(c *faderCase, p *Plan, f fault) (said string) {
	said = fmt.Sprintf("want faders %v filters %v sum %v;", f.faders, f.filters, f.sum)
	wantFilters := len(f.filters) + len(f.sum)
	if p == nil {
		c.nothingAdvised, c.right = true, len(f.faders)+wantFilters == 0
		return said + " no plan"
	}
	c.firm, c.advised, c.filters, c.nothingAdvised = p.Firm, len(p.Faders), len(p.Filters), p.Steps() == 0
	said += fmt.Sprintf(" distance %.2f → %.2f, rendered %.2f:", p.BeforeDB, p.AfterDB(), p.RenderedDB)
	c.right = len(p.Faders) == len(f.faders) && len(p.Filters) == wantFilters && len(p.Widths) == 0
	common := commonDB(f.faders)
	for _, x := range p.Faders {
		if undone := common - f.faders[x.Track]; undone*x.GainDB > 0 && x.LowDB <= undone && undone <= x.HighDB {
			c.heldAtLevel++
		}
		said += fmt.Sprintf(" fader %d %+.2f (%+.2f…%+.2f)", x.Track, x.GainDB, x.LowDB, x.HighDB)
		truth := -f.faders[x.Track]
		c.right = c.right && truth != 0 && math.Abs(x.GainDB-truth) <= faderToleranceDB
		if truth*x.GainDB > 0 && x.LowDB <= truth && truth <= x.HighDB {
			c.held++
		}
	}
	for _, x := range p.Filters {
		said += fmt.Sprintf(" filter on %d %v %.0f Hz %+.1f Q %.2f", x.Track, x.Filter.Shape, x.Filter.FreqHz, x.Filter.GainDB, x.Filter.Q)
		want, is := f.filters[x.Track]
		if x.Track < 0 && f.sum != nil {
			want, is = f.sum[0], true
		}
		c.right = c.right && is && math.Abs(x.Filter.GainDB+want.GainDB) <= filterToleranceDB && math.Abs(math.Log2(x.Filter.FreqHz/want.FreqHz)) <= filterOct
	}
	return said
}
