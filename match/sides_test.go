package match

import (
	"math"
	"testing"
)

// Figures of zones are the references' level less the mix's, of findings the mix's less
// the references'.
func TestSideFindings(t *testing.T) {
	zone := func(name string, lowHz, highHz, middle, sides, whole float64) SideVerdict {
		return SideVerdict{Zone: Zone{name, lowHz, highHz}, MiddleDB: middle, SidesDB: sides, WholeDB: whole}
	}
	type want struct {
		zones     int
		kind      SideKind
		side, mid float64
	}
	for _, c := range []struct {
		name  string
		zones []SideVerdict
		want  []want
	}{
		{"the side alone", []SideVerdict{zone("mids", 562, 1778, 0.4, 3, 1)}, []want{{1, SideOnly, -3, -0.4}}},
		{"three zones", []SideVerdict{zone("low mids", 178, 562, 0, -5, -1), zone("mids", 562, 1778, 0.2, -7, -1), zone("high mids", 1778, 5623, -0.2, -6, -1)},
			[]want{{3, SideOnly, 6, 0}}},
		{"a zone that is over", []SideVerdict{zone("mids", 562, 1778, -1.9, 3.6, -1.4)}, []want{{1, Opposite, -3.6, 1.9}}},
		{"the mid alone", []SideVerdict{zone("air", 11220, 20000, -3, 0.3, -2.5)}, []want{{1, MidOnly, -0.3, 3}}},
		{"both under", []SideVerdict{zone("lows", 56, 178, 2, 5, 2.5)}, []want{{1, Unequal, -5, -2}}},
		{"the mid alone, beside a louder side", []SideVerdict{zone("highs", 5623, 11220, 3.2, -1.3, 2)}, []want{{1, MidOnly, 1.3, -3.2}}},
		{"opposite, and which is larger is open", []SideVerdict{{Zone: Zone{"mids", 562, 1778}, MiddleDB: 3, SidesDB: -1.5, HalfDB: 0.6, SumHalfDB: 1.6, WholeDB: 2}}, []want{{1, Opposite, 1.5, -3}}},
		{"opposite, and the side surely larger", []SideVerdict{{Zone: Zone{"mids", 562, 1778}, MiddleDB: 1.2, SidesDB: -4, HalfDB: 3, SumHalfDB: 1.6, WholeDB: -1}}, []want{{1, SideOnly, 4, -1.2}}},
		{"neighbours of opposite side", []SideVerdict{zone("high mids", 1778, 5623, -4, -1, -3.5), zone("highs", 5623, 11220, -4, 3, 1.5)},
			[]want{{1, MidOnly, 1, 4}, {1, Opposite, -3, 4}}},
		{"neighbours alike", []SideVerdict{zone("high mids", 1778, 5623, -4, -1, -3), zone("highs", 5623, 11220, -3, 0.4, -2)},
			[]want{{2, MidOnly, 0.3, 3.5}}},
	} {
		got := SideFindings(c.zones)
		if len(got) != len(c.want) {
			t.Errorf("%s: %+v", c.name, got)
			continue
		}
		for i, w := range c.want {
			const rounding = 1e-9
			if f := got[i]; len(f.Zones) != w.zones || f.Kind != w.kind || math.Abs(f.SideDB-w.side) > rounding || math.Abs(f.MidDB-w.mid) > rounding {
				t.Errorf("%s: %+v, want %+v", c.name, f, w)
			}
		}
	}
}
