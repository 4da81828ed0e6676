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
	for _, c := range []struct {
		name  string
		zones []SideVerdict
		want  []string
	}{
		{"the side alone", []SideVerdict{zone("mids", 562, 1778, 0.4, 3, 1)},
			[]string{"mids: narrower than the reference (side −3.0 dB, mid the same); that is panning or widening, not equalising"}},
		{"three zones", []SideVerdict{zone("low mids", 178, 562, 0, -5, -1), zone("mids", 562, 1778, 0.2, -7, -1), zone("high mids", 1778, 5623, -0.2, -6, -1)},
			[]string{"178 Hz to 5.62 kHz: wider than the reference (side +6.0 dB, mid the same); that is panning or widening, not equalising"}},
		{"a zone that is over", []SideVerdict{zone("mids", 562, 1778, -1.9, 3.6, -1.4)},
			[]string{"mids: side and mid are off in opposite ways (side −3.6 dB, mid +1.9 dB); an ordinary equaliser cannot mend that"}},
		{"the mid alone", []SideVerdict{zone("air", 11220, 20000, -3, 0.3, -2.5)},
			[]string{"air: too strong, mostly in the mid (side the same, mid +3.0 dB); an ordinary equaliser moves both"}},
		{"both under", []SideVerdict{zone("lows", 56, 178, 2, 5, 2.5)},
			[]string{"lows: too weak, but not equally (side −5.0 dB, mid −2.0 dB); an ordinary equaliser moves both"}},
		{"the mid alone, beside a louder side", []SideVerdict{zone("highs", 5623, 11220, 3.2, -1.3, 2)},
			[]string{"highs: too weak, mostly in the mid (side +1.3 dB, mid −3.2 dB); an ordinary equaliser moves both"}},
		{"neighbours of opposite side", []SideVerdict{zone("high mids", 1778, 5623, -4, -1, -3.5), zone("highs", 5623, 11220, -4, 3, 1.5)},
			[]string{"high mids: too strong, mostly in the mid (side +1.0 dB, mid +4.0 dB); an ordinary equaliser moves both",
				"highs: side and mid are off in opposite ways (side −3.0 dB, mid +4.0 dB); an ordinary equaliser cannot mend that"}},
		{"neighbours alike", []SideVerdict{zone("high mids", 1778, 5623, -4, -1, -3), zone("highs", 5623, 11220, -3, 0.4, -2)},
			[]string{"high mids and highs: too strong, mostly in the mid (side the same, mid +3.5 dB); an ordinary equaliser moves both"}},
	} {
		if got := (&Check{Sides: c.zones}).SideSentences(); !slices.Equal(got, c.want) {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}
