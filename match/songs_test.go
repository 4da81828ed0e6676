package match

import (
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/profile"
)

// Real music for the tests of this package: the tables of songs in testdata, see the
// README there, or those of more songs in the file that TONEPLUMB_TABLES names.

// heldOut are the packages on which nothing was chosen.
var heldOut = []string{"widelands-data", "colobot-common-sounds", "supertuxkart-data", "unknown-horizons",
	"freedroidrpg-data", "megaglest-data", "xmoto-data"}

func songTables(t testing.TB) []*measure.Recording {
	file := "testdata/songs.json"
	if more := os.Getenv("TONEPLUMB_TABLES"); more != "" {
		file = more
	}
	in, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	p, err := profile.Read(in, file)
	if err != nil {
		t.Fatal(err)
	}
	return p.Recordings()
}

// makerOf and packageOf read the path of a table, "package:maker song".
func makerOf(s *measure.Recording) string   { name, _, _ := strings.Cut(s.Path, " "); return name }
func packageOf(s *measure.Recording) string { name, _, _ := strings.Cut(s.Path, ":"); return name }

// rowsOf is a recording of some of the rows, one after the other.
func rowsOf(song *measure.Recording, mine func(row int) bool) *measure.Recording {
	r := *song
	r.Power, r.Width, r.Gate, r.Rows = nil, nil, nil, 0
	for row := range song.Rows {
		if mine(row) {
			r.Power = append(r.Power, song.Row(row)...)
			r.Width = append(r.Width, song.Width[row*spectrum.BandCount:][:spectrum.BandCount]...)
			r.Gate = append(r.Gate, song.Gate[row])
			r.Rows++
		}
	}
	r.DurationSec = float64(r.Rows * r.RowSec)
	return &r
}

// fault draws 2 to 4 broad filters, at most one shelf of a kind, scaled to so many dB
// rms over 40 Hz to 16 kHz.
func fault(rng *rand.Rand, rmsDB float64) []biquad.Filter {
	c := &Comparison{Options: DefaultCompare(), LeftOut: make([]Exclusion, spectrum.BandCount), RateHz: 44100}
	c.judge(AdviceSmoothOct)
	size := func(filters []biquad.Filter) float64 {
		return c.judged.Distance(c.smoother.Smooth(nil, c.response(filters)))
	}
	for {
		var drawn []biquad.Filter
		for count := 2 + rng.IntN(3); len(drawn) < count; {
			f := biquad.Filter{Shape: biquad.Bell, FreqHz: 80 * math.Exp2(6.5*rng.Float64()), Q: 0.5 + 1.5*rng.Float64()}
			switch rng.IntN(5) {
			case 0:
				f = biquad.Filter{Shape: biquad.LowShelf, FreqHz: 70 * math.Exp2(1.5*rng.Float64()), Q: math.Sqrt2 / 2}
			case 1:
				f = biquad.Filter{Shape: biquad.HighShelf, FreqHz: 4000 * math.Exp2(1.2*rng.Float64()), Q: math.Sqrt2 / 2}
			}
			f.GainDB = (1.5 + 4.5*rng.Float64()) * float64(1-2*rng.IntN(2))
			if f.Shape == biquad.Bell || !slices.ContainsFunc(drawn, func(g biquad.Filter) bool { return g.Shape == f.Shape }) {
				drawn = append(drawn, f)
			}
		}
		scale, scaled := 1.0, slices.Clone(drawn)
		for range 12 {
			for i := range drawn {
				scaled[i].GainDB = scale * drawn[i].GainDB
			}
			scale = min(10, scale*math.Pow(rmsDB/max(size(scaled), 1e-3), 0.8))
		}
		// Filters that undo each other would need absurd gains: drawn again.
		if scale < 1.1*max(rmsDB, 1)+1 && math.Abs(size(scaled)-rmsDB) < 0.03*rmsDB {
			return scaled
		}
	}
}

func median(x []float64) float64 {
	x = slices.Sorted(slices.Values(x))
	return (x[(len(x)-1)/2] + x[len(x)/2]) / 2
}

func mean(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}
