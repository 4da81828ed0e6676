package tracks

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"

	"toneplumb/match"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/multitrack"
	"toneplumb/spectrum/testkit"
)

// Levels of known sounds in sums of them come back.
func TestUnmix(t *testing.T) {
	const thirds, moments, tolerance = 12, 20, 0.5 // dB: what 30 steps leave of sounds that overlap
	rng := rand.New(rand.NewPCG(1, 24))
	tracks := make([]*mat.Dense, 4) // the third is not heard
	for _, k := range []int{0, 1, 3} {
		tracks[k] = mat.NewDense(thirds, moments, nil)
		tracks[k].Apply(func(i, m int, _ float64) float64 {
			d := float64(i) - 4*float64(k)
			return math.Exp(-d*d/8) * math.Exp(0.3*rng.NormFloat64())
		}, tracks[k])
	}
	sum, want := mat.NewDense(thirds, moments, nil), make([][]float64, 4)
	for k, x := range tracks {
		if x == nil {
			continue
		}
		for m := range moments {
			gain := math.Exp(rng.NormFloat64())
			for i := range thirds {
				sum.Set(i, m, sum.At(i, m)+gain*x.At(i, m))
			}
			want[k] = append(want[k], spectrum.PowerToDB(gain*mat.Sum(x.ColView(m))))
		}
	}
	got, apartDB := soundsOf(tracks, 0, 0).unmix(sum, len(tracks))
	for k, levels := range want {
		if levels == nil {
			continue
		}
		for m, db := range levels {
			if math.Abs(got[k][m]-db) > 6*tolerance {
				t.Errorf("track %d, moment %d: %.2f dB, want %.2f", k, m, got[k][m], db)
			}
		}
		if got, want := median(got[k]), median(levels); math.Abs(got-want) > tolerance {
			t.Errorf("track %d: %.2f dB, want %.2f", k, got, want)
		}
	}
	if slices.Max(apartDB) > 2*tolerance {
		t.Errorf("the sum is %.2f dB off", apartDB)
	}
	if levels, apartDB := soundsOf(tracks[2:3], 0, 0).unmix(sum, 1); !math.IsInf(slices.Min(apartDB), 1) || len(levels[0]) != moments {
		t.Errorf("without sounds: %v dB off", apartDB)
	}
}

func TestHints(t *testing.T) {
	of := func(db ...float64) (all []louder) {
		for k, v := range db {
			all = append(all, louder{track: k, db: v, sdDB: 1})
		}
		return all
	}
	for _, c := range []struct {
		name string
		all  []louder
		want map[int]float64
	}{
		{"none of none", nil, nil},
		{"all louder by as much", of(5, 5.5, 4.5, 5), nil},
		{"one louder", of(5, 0, 0.5, -0.5), map[int]float64{0: 5}},
		{"one louder, one softer", of(2, 7, 2, 2, -3), map[int]float64{1: 5, 4: -5}},
		{"more than a plan has", of(0, 4, 0.1, -4, 5, 0, -5, 0.1, 0), nil},
		{"too much for a hint", of(0, 0.1, 12, 0.2), nil},
		{"one of two", of(0, -6), nil},
		{"softer than two that differ", of(0.5, -6, -0.5), map[int]float64{1: -6}},
	} {
		got := hints(c.all)
		if len(got) != len(c.want) {
			t.Errorf("%s: %v", c.name, got)
		}
		for _, l := range got {
			if want, ok := c.want[l.track]; !ok || math.Abs(l.db-want) > 0.5 {
				t.Errorf("%s: %+v", c.name, l)
			}
		}
	}
}

// A hint's likely range counts in that the middle of the other tracks is not exact, and stays on its side of 0.
func TestHintRanges(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 24))
	const draws, fader = 4000, 6.0
	told, held, heldWithout := 0.0, 0.0, 0.0
	for range draws {
		all := []louder{{track: 0, db: fader, sdDB: 1}}
		for k := range 3 {
			all = append(all, louder{track: k + 1, sdDB: 0.7 + 0.3*float64(k)})
		}
		for i := range all {
			all[i].db += all[i].sdDB * rng.NormFloat64()
		}
		for _, l := range hints(all) {
			if l.track != 0 {
				continue
			}
			low, high := l.likely(l.db)
			if low <= 0 {
				t.Fatalf("%+v: from %.2f dB", l, low)
			}
			told++
			if low <= fader && fader <= high {
				held++
			}
			if math.Abs(l.db-fader) <= bandFactor*l.sdDB {
				heldWithout++
			}
		}
	}
	// 95 % by 1.96 standard deviations; bandFactor has a tenth more.
	if share := held / told; share < 0.95 || heldWithout/told > share-0.02 {
		t.Errorf("the range holds %.3f of %.0f, without the middle's error %.3f", share, told, heldWithout/told)
	}
}

// Beside another part of the song a fader is a hint, and other music says nothing.
func TestOtherPart(t *testing.T) {
	testkit.Skip(t, "plans for synthesised tracks")
	names, _ := quartet()
	part := func(seed uint64) (all []sound) {
		for k, hz := range []float64{90, 350, 1500, 6000} {
			all = append(all, noise(seed+uint64(k), hz, 4, 20))
		}
		return all
	}
	stems, later := part(1), part(11)
	other := measured(t, sumOf([]sound{band(21, 60), band(22, 10000)}), "other.wav")
	for _, c := range []struct {
		name  string
		fault fault
		gain  float64 // of the third track
	}{
		{"nothing", fault{}, 0},
		{"a fader", fault{faders: map[int]float64{2: 6}}, -6},
	} {
		mixSound := c.fault.mix(stems)
		mix := measured(t, mixSound, "mix.wav")
		together := inStep(t, mix, mixSound, names, c.fault.stems(stems))
		p := planOf(t, mix, measured(t, sumOf(later), "later.wav"), together).Plan
		switch {
		case p == nil || p.Firm || len(p.Filters)+len(p.Widths) > 0:
			t.Errorf("%s: %+v", c.name, p)
		case c.gain == 0 && len(p.Faders) > 0, c.gain != 0 && len(p.Faders) != 1:
			t.Errorf("%s: %+v", c.name, p.Faders)
		case c.gain != 0:
			if f := p.Faders[0]; f.Track != 2 || f.LowDB > c.gain || f.HighDB < c.gain {
				t.Errorf("%s: %+v", c.name, f)
			}
		}
		if p := planOf(t, mix, other, together).Plan; p != nil {
			t.Errorf("%s, other music: %+v", c.name, p)
		}
	}
}

// What an equaliser on the master did to powers is taken out of the mix and of the tracks that are heard.
func TestBypassEqualiser(t *testing.T) {
	const doubled, halved = 8, 9 // third octaves, in amplitude
	s := &session{master: make([]float64, multitrack.Thirds)}
	s.master[doubled], s.master[halved] = 2, 0.5
	c := &cells{thirds: []int{doubled, halved}, moments: 1, mix: []float64{4, 0.25}, power: [][]float64{{8, 0.5}, nil}, re: [][]float64{{12, 0.75}, nil}}
	(&otherPart{search: &search{s, c}}).bypassEqualiser()
	for i, got := range slices.Concat(c.mix, c.power[0], c.re[0]) {
		if want := float64(1 + i/2); got != want { // all are powers of 2
			t.Errorf("cell %d is %g, want %g", i, got, want)
		}
	}
}

// Effects of actions are smoothed as the difference is, which knows what is left out.
func TestSessionSmoothsAsTheDifference(t *testing.T) {
	c, err := match.Compare(measured(t, noise(1, 300, 2, 4), "mix.wav"), []*measure.Recording{measured(t, noise(2, 300, 2, 4), "ref.wav")}, match.DefaultCompare())
	if err != nil {
		t.Fatal(err)
	}
	s := newSession(c.With(nil, match.DefaultSolve()), &multitrack.Table{RateHz: c.RateHz}, Options{})
	if s.smoother != c.Smoother() {
		t.Error("another smoother")
	}
}
