package match

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
)

// wide is a recording whose mid lies so many dB over its side.
func wide(r *measure.Recording, midOverSideDB float64) *measure.Recording {
	return with(r, func(r *measure.Recording) {
		r.Width = make([]measure.Width, len(r.Power))
		for i := range r.Width {
			r.Width[i] = measure.WidthOf(spectrum.DBToPower(midOverSideDB), 1)
		}
	})
}

func nearest(t *testing.T, mix *measure.Recording, refs ...*measure.Recording) []RankedReference {
	t.Helper()
	all, err := Nearest(mix, refs, DefaultCompare())
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func TestNearestFigures(t *testing.T) {
	bass := func(db float64) func(hz float64) float64 {
		return func(hz float64) float64 {
			if hz < Zones()[1].HighHz {
				return db
			}
			return 0
		}
	}
	bell := through(biquad.Filter{Shape: biquad.Bell, FreqHz: 1000, GainDB: 4, Q: 0.7})
	mix := wide(invented(1, 90, flat), 6)
	const (
		widthDB   = 0.01 // of single precision
		lowEndDB  = 0.2  // the skirt of a bell, and loudness over bands that are left out
		exactlyDB = 1e-9
	)
	for _, c := range []struct {
		name        string
		ref         *measure.Recording
		bass, width float64
	}{
		{"alike", wide(invented(1, 90, flat), 6), 0, 0},
		{"narrower", wide(invented(1, 90, flat), 12), 0, 6},
		{"mono: at the bound", wide(invented(1, 90, flat), 300), 0, mostWidthDB - 6},
		{"all side: at the bound", wide(invented(1, 90, flat), -300), 0, mostWidthDB + 6},
		{"6 dB of bass", wide(invented(1, 90, bass(6)), 6), 6, 0},
		{"no bass at all", wide(invented(1, 90, bass(-70)), 6), -70, 0},
		{"a bell", wide(invented(1, 90, bell), 6), 0, 0},
	} {
		n := nearest(t, mix, c.ref)[0]
		// At equal loudness all stands lower by what the recording is louder.
		lowEnd := min(math.Abs(c.bass-(c.ref.LoudnessLUFS-mix.LoudnessLUFS)), mostLowEndDB)
		if math.Abs(n.LowEndDB-lowEnd) > lowEndDB || math.Abs(n.WidthDB-c.width) > widthDB {
			t.Errorf("%s: low end %.2f dB, width %.3f; want %.2f and %g", c.name, n.LowEndDB, n.WidthDB, lowEnd, c.width)
		}
		if want := compare(t, mix, c.ref).Solve(SolveOptions{Equaliser: fit.Default()}).DistanceBeforeDB; math.Abs(n.DistanceDB-want) > exactlyDB {
			t.Errorf("%s: distance %g, by comparing %g", c.name, n.DistanceDB, want)
		}
	}
	ranged := func(lu float64) *measure.Recording {
		r := *mix
		r.Programme = measure.Programme{WholeLUFS: -14, RangeLU: lu}
		return &r
	}
	for _, c := range []struct {
		mix, ref *measure.Recording
		want     float64
	}{{ranged(4), ranged(9.5), 5.5}, {mix, ranged(9), 0}} {
		if n := nearest(t, c.mix, c.ref)[0]; n.RangeLU != c.want {
			t.Errorf("loudness range: %g LU, want %g", n.RangeLU, c.want)
		}
	}
	if n := nearest(t, mix, mix)[0]; !n.SameSong || n.DistanceDB != 0 || n.LowEndDB != 0 || n.WidthDB != 0 {
		t.Errorf("the mix itself: %+v", n)
	}
}

// By distance, half the width and a third of the loudness range, but none before one
// that is less than half as far.
func TestNearestOrder(t *testing.T) {
	for _, c := range []struct {
		name    string
		figures [][3]float64 // distance, width, range
		want    string       // indices and figures, the nearest first
	}{
		{"one", [][3]float64{{1, 1, 3}}, "0:2.5"},
		{"each figure counts", [][3]float64{{3, 0, 0}, {2, 3, 0}, {2, 0, 6}, {2, 1, 0}}, "3:2.5 0:3.0 1:3.5 2:4.0"},
		{"alike: as given", [][3]float64{{1, 2, 0}, {1, 2, 0}}, "0:2.0 1:2.0"},
		{"twice as far", [][3]float64{{2, 20, 0}, {4, 0, 0}}, "0:12.0 1:4.0"},
		{"not quite twice as far", [][3]float64{{2, 20, 0}, {3.9, 0, 0}}, "1:3.9 0:12.0"},
		{"twice as far as the last", [][3]float64{{2, 20, 0}, {3, 2, 0}, {5.5, 0, 0}}, "1:4.0 0:12.0 2:5.5"},
		{"a copy", [][3]float64{{1, 0, 0}, {0, 9, 0}, {0, 8, 0}}, "2:4.0 1:4.5 0:1.0"},
	} {
		var all []RankedReference
		for i, f := range c.figures {
			all = append(all, RankedReference{Index: i, DistanceDB: f[0], WidthDB: f[1], RangeLU: f[2]})
		}
		var got []string
		for _, n := range ranked(all) {
			got = append(got, fmt.Sprintf("%d:%.1f", n.Index, n.ApartDB))
		}
		if s := strings.Join(got, " "); s != c.want {
			t.Errorf("%s: %s, want %s", c.name, s, c.want)
		}
	}
}

func TestNearestRefuses(t *testing.T) {
	top := with(invented(1, 60, flat), func(r *measure.Recording) { r.CutoffHz, r.Path = 30, "bad.mp3" })
	_, err := Nearest(invented(1, 60, flat), []*measure.Recording{invented(2, 60, flat), top}, DefaultCompare())
	if err == nil || !strings.Contains(err.Error(), `"bad.mp3" has less than an octave`) {
		t.Errorf("a reference with nothing in common: %v", err)
	}
}
