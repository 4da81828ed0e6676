package tracks

import (
	"encoding/gob"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/multitrack"
)

// faderMeasured is what is measured of a song with faults, from which plans are made. Long runs
// keep it in the folder TONEPLUMB_STEMS, so that rules can be changed without measuring again.
type faderMeasured struct {
	Right, Later *measure.Recording
	Others       []*measure.Recording
	Cases        []faderMix
}

// faderReference is a recording that a plan is made beside.
type faderReference struct {
	kind string
	of   *measure.Recording
}

func (m *faderMeasured) references() []faderReference {
	all := []faderReference{{sameMoments, m.Right}, {otherHalf, m.Later}}
	for _, other := range m.Others {
		all = append(all, faderReference{otherSong, other})
	}
	return all
}

// faderMix is a mix with a fault and its tracks.
type faderMix struct {
	Kind    string
	Faders  map[int]float64
	Filters map[int]biquad.Filter
	Sum     []biquad.Filter
	Mix     *measure.Recording
	Table   keptTable

	// What sketches tell.
	Coherence         [][][multitrack.Thirds]float64
	RestShare, RestHz float64
}

// keptTable is a multitrack.Table without its sketches.
type keptTable struct {
	RateHz          float64
	Rows            int
	Gate            []float64
	Windows         int
	MixPower        []float64
	RowMix, RowSide []float32
	Tracks          []keptTrack
}

type keptTrack struct {
	Path                                string
	Format                              audio.Format
	DurationSec                         float64
	Power, Re, Im, Side, SideRe         []float64
	RowPower, RowRe, RowSide, RowSideRe []float32
	Balance                             float64
	StepPower                           []float64
	LagFrames                           int
	WithoutLag                          float64
}

func keep(t *multitrack.Table) keptTable {
	k := keptTable{RateHz: t.RateHz, Rows: t.Rows, Gate: t.Gate, Windows: t.Windows, MixPower: t.MixPower, RowMix: t.RowMix, RowSide: t.RowSide}
	for _, x := range t.Tracks {
		k.Tracks = append(k.Tracks, keptTrack{x.Path, x.Format, x.DurationSec, x.Power, x.Re, x.Im, x.Side, x.SideRe, x.RowPower, x.RowRe, x.RowSide, x.RowSideRe, x.Balance, x.StepPower, x.LagFrames, x.WithoutLag})
	}
	return k
}

func (k keptTable) table() *multitrack.Table {
	t := &multitrack.Table{RateHz: k.RateHz, Rows: k.Rows, Gate: k.Gate, Windows: k.Windows, MixPower: k.MixPower, RowMix: k.RowMix, RowSide: k.RowSide}
	for _, x := range k.Tracks {
		t.Tracks = append(t.Tracks, multitrack.Track{Path: x.Path, Format: x.Format, DurationSec: x.DurationSec, Power: x.Power, Re: x.Re, Im: x.Im, Side: x.Side, SideRe: x.SideRe,
			RowPower: x.RowPower, RowRe: x.RowRe, RowSide: x.RowSide, RowSideRe: x.RowSideRe, Balance: x.Balance, StepPower: x.StepPower, LagFrames: x.LagFrames, WithoutLag: x.WithoutLag})
	}
	return t
}

func (f *faderMix) fault() fault {
	return fault{kind: f.Kind, faders: f.Faders, filters: f.Filters, sum: f.Sum}
}

// plan makes a plan beside a reference.
func (f *faderMix) plan(t *testing.T, ref *measure.Recording) *Advice {
	a := unplanned(t, f.Mix, ref, f.Table.table(), Options{})
	a.session.coherence, a.session.sum = f.Coherence, &additive{f.RestShare, f.RestHz, a.session.levelMovesDB()}
	a.Plan = a.session.plan()
	return a
}

// faderTables measures a song's faults.
func faderTables(t *testing.T, folder string, at int, font string, s faderSong) (m faderMeasured) {
	cache := os.Getenv("TONEPLUMB_STEMS")
	path := filepath.Join(cache, s.name+"-"+filepath.Base(font)+".gob")
	if f, err := os.Open(path); cache != "" && err == nil {
		defer f.Close()
		if err := gob.NewDecoder(f).Decode(&m); err != nil {
			t.Fatal(err)
		}
		return m
	}
	rightSound := s.after(sumOf(s.stems))
	m.Right = measured(t, rightSound, "right.wav")
	m.Later = measured(t, s.after(sumOf(s.later)), "later.wav")
	all := faderSongs()
	for _, next := range []int{2, 5, 9} { // three songs, so that what is hinted at a right mix is counted among many
		file, err := os.ReadFile(filepath.Join(folder, all[(at+next)%len(all)]+".mid"))
		if err != nil {
			t.Fatal(err)
		}
		x := renderWith(t, font, file, truthSec)
		m.Others = append(m.Others, measured(t, sound{x[0], x[1]}, "other.wav"))
	}
	for _, f := range faultsOf(t, s, m.Right, rightSound, rand.New(rand.NewPCG(uint64(at), 24))) {
		mixSound := s.after(f.mix(s.stems))
		mix := measured(t, mixSound, "mix.wav")
		together := inStep(t, mix, mixSound, s.names, f.stems(s.stems))
		a := unplanned(t, mix, m.Right, together, Options{})
		sum := a.session.additive()
		m.Cases = append(m.Cases, faderMix{f.kind, f.faders, f.filters, f.sum, mix, keep(together), a.session.coherence, sum.restShare, sum.restHz})
	}
	if cache != "" {
		f, err := os.Create(path)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		if err := gob.NewEncoder(f).Encode(m); err != nil {
			t.Fatal(err)
		}
	}
	return m
}
