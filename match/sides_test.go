package match

import (
	"slices"
	"testing"
)

// Figures are the references' level less the mix's: above 0 the mix is under.
func TestSideSentences(t *testing.T) {
	zone := func(name string, lowHz, highHz, middle, sides, whole float64) SideVerdict {
		return SideVerdict{Zone: Zone{name, lowHz, highHz}, MiddleDB: middle, SidesDB: sides, WholeDB: whole}
	}
	const alike = ": one equaliser on the master moves sides and middle alike"
	for _, c := range []struct {
		name  string
		zones []SideVerdict
		want  []string
	}{
		{"sides alone", []SideVerdict{zone("mids", 562, 1778, 0.4, 3, 1)},
			[]string{"the mids are missing at the sides only (sides 3.0 dB under, middle level): a lift on the master would raise the middle there too"}},
		{"a zone that is over", []SideVerdict{zone("mids", 562, 1778, -1.9, 3.6, -1.4)},
			[]string{"the mids are off both ways (sides 3.6 dB under, middle 1.9 dB over)" + alike}},
		{"the middle alone", []SideVerdict{zone("air", 11220, 20000, -3, 0.3, -2.5)},
			[]string{"the air is too strong in the middle only (sides level, middle 3.0 dB over): a cut on the master would lower the sides there too"}},
		{"both under", []SideVerdict{zone("lows", 56, 178, 2, 5, 2.5)},
			[]string{"the lows are missing unequally (sides 5.0 dB under, middle 2.0 dB under)" + alike}},
		{"the middle alone, beside louder sides", []SideVerdict{zone("highs", 5623, 11220, 3.2, -1.3, 2)},
			[]string{"the highs are missing in the middle only (sides 1.3 dB over, middle 3.2 dB under): a lift on the master would raise the sides there too"}},
		{"neighbours of opposite sides", []SideVerdict{zone("high mids", 1778, 5623, -4, -1, -3.5), zone("highs", 5623, 11220, -4, 3, 1.5)},
			[]string{"the high mids are too strong in the middle mostly (sides 1.0 dB over, middle 4.0 dB over): a cut on the master would lower the sides there too",
				"the highs are off both ways (sides 3.0 dB under, middle 4.0 dB over)" + alike}},
		{"neighbours alike", []SideVerdict{zone("high mids", 1778, 5623, -4, -1, -3), zone("highs", 5623, 11220, -3, 0.4, -2)},
			[]string{"the high mids and highs are too strong in the middle only (sides level, middle 3.5 dB over): a cut on the master would lower the sides there too"}},
	} {
		if got := (&Check{Sides: c.zones}).SideSentences(); !slices.Equal(got, c.want) {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}
