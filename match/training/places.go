package training

import (
	"slices"

	"toneplumb/biquad"
	"toneplumb/match"
)

// Kind is a move as a beginner hears it: zone, shape, boost or cut.
type Kind struct {
	Zone  int // index into [match.Zones]
	Shape biquad.Shape
	Up    bool
}

// KindOf returns the kind of a move; its zone is the one that contains its frequency.
func KindOf(f biquad.Filter) Kind {
	zones := match.Zones()
	at := slices.IndexFunc(zones, func(z match.Zone) bool { return f.FreqHz < z.HighHz })
	if at < 0 {
		at = len(zones) - 1
	}
	return Kind{at, f.Shape, f.GainDB > 0}
}

// place is where moves of a shape may be hidden in a zone.
type place struct {
	zone   int // index into match.Zones
	shape  biquad.Shape
	share  int // weight, of 21
	hz     []float64
	thirds []float64 // with Rules.Thirds; nil: hz
}

// places are weighted so that zones and shapes each come up equally often: of 21 moves 7 of each
// shape and 3 in each zone. Frequencies are third octaves of ISO 266 (from memory); for beginners,
// bells are on octaves where a zone has one, as learners name them. The shelves are those used on a
// master: the lows, the highs, and tilts about 800 Hz.
var places = []place{
	{0, biquad.LowShelf, 2, []float64{50}, nil},
	{1, biquad.LowShelf, 2, []float64{80, 125}, nil},
	{2, biquad.LowShelf, 2, []float64{200, 315}, nil},
	{3, biquad.LowShelf, 1, []float64{630, 800}, nil},
	{0, biquad.Bell, 1, []float64{40, 50}, nil},
	{1, biquad.Bell, 1, []float64{63, 125}, []float64{63, 80, 100, 125, 160}},
	{2, biquad.Bell, 1, []float64{250, 500}, []float64{200, 250, 315, 400, 500}},
	{3, biquad.Bell, 1, []float64{1000}, []float64{630, 800, 1000, 1250, 1600}},
	{4, biquad.Bell, 1, []float64{2000, 4000}, []float64{2000, 2500, 3150, 4000, 5000}},
	{5, biquad.Bell, 1, []float64{8000}, []float64{6300, 8000, 10000}},
	{6, biquad.Bell, 1, []float64{12500}, nil},
	{3, biquad.HighShelf, 1, []float64{1000, 1250}, nil},
	{4, biquad.HighShelf, 2, []float64{2000, 3150}, nil},
	{5, biquad.HighShelf, 2, []float64{6300, 8000}, nil},
	{6, biquad.HighShelf, 2, []float64{12500}, nil},
}

func placeOf(k Kind) *place {
	for i, p := range places {
		if p.zone == k.Zone && p.shape == k.Shape {
			return &places[i]
		}
	}
	return nil
}
