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

func nearest(t *testing.T, mix *measure.Recording, refs ...*measure.Recording) []Neighbour {
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
	if n := nearest(t, mix, mix)[0]; !n.SameSong || n.DistanceDB != 0 || n.LowEndDB != 0 || n.WidthDB != 0 {
		t.Errorf("the mix itself: %+v", n)
	}
}

func TestNearestPlaces(t *testing.T) {
	for _, c := range []struct {
		figures [][3]float64 // distance, low end, width
		want    string       // index and places, the nearest first
	}{
		{[][3]float64{{1, 1, 1}}, "0:1 1 1"},
		{[][3]float64{{3, 3, 3}, {1, 1, 1}, {2, 2, 2}}, "1:1 1 1, 2:2 2 2, 0:3 3 3"},
		{[][3]float64{{1, 2, 2}, {1, 2, 2}}, "0:1 1 1, 1:1 1 1"},                     // alike: as given
		{[][3]float64{{1, 1, 5}, {1, 1, 2}, {9, 9, 1}}, "1:1 1 2, 0:1 1 3, 2:3 3 1"}, // equal figures share a place
		{[][3]float64{{2, 1, 5}, {1, 2, 5}}, "1:1 2 1, 0:2 1 1"},                     // equal means: by distance
	} {
		var all []Neighbour
		for i, f := range c.figures {
			all = append(all, Neighbour{Index: i, DistanceDB: f[0], LowEndDB: f[1], WidthDB: f[2]})
		}
		rank(all)
		var got []string
		for _, n := range all {
			got = append(got, fmt.Sprintf("%d:%d %d %d", n.Index, n.DistanceRank, n.LowEndRank, n.WidthRank))
		}
		if s := strings.Join(got, ", "); s != c.want {
			t.Errorf("%v: %s, want %s", c.figures, s, c.want)
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
