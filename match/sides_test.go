package match

import (
	"math"
	"slices"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
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

// withSides puts sides under, or over, the middle by so many dB per band.
func withSides(r *measure.Recording, sideDB func(hz float64) float64) *measure.Recording {
	return with(r, func(r *measure.Recording) {
		r.Power, r.Width = append([]float32{}, r.Power...), append([]measure.Width{}, r.Width...)
		for i, p := range r.Power {
			// The middle stays as it is: mid = P/4·2, side = that by sideDB.
			side := float64(p) / 2 * spectrum.DBToPower(sideDB(spectrum.CentreHz(i%spectrum.BandCount)))
			mid := float64(p) / 2
			r.Power[i], r.Width[i] = float32(2*(mid+side)), measure.WidthOf(mid, side)
		}
	})
}

func TestSides(t *testing.T) {
	even := func(float64) float64 { return -6 }
	top := func(db float64) func(hz float64) float64 {
		return func(hz float64) float64 {
			if hz > Zones()[5].LowHz {
				return -6 + db
			}
			return -6
		}
	}
	for _, c := range []struct {
		name string
		mix  *measure.Recording
		want float64 // in highs and air together, about; 0: nothing is found
	}{
		{"alike", withSides(invented(1, 90, flat), even), 0},
		{"1.5 dB less at the sides", withSides(invented(1, 90, flat), top(-1.5)), 0},
		{"dull sides", withSides(invented(1, 90, flat), top(-5)), -4.5},
		{"sharp sides", withSides(invented(1, 90, flat), top(5)), 4.5},
		{"mono top", withSides(invented(1, 90, flat), top(-60)), -13.5},
	} {
		k := compare(t, c.mix, withSides(invented(1, 90, flat), even)).Verdict(0)
		k.SetSides()
		got := SideFindings(k.Sides)
		if c.want == 0 && len(got) > 0 || c.want != 0 && (len(got) != 1 || len(got[0].Zones) != 2 || got[0].Kind != SideOnly || math.Abs(got[0].SideDB-c.want) > 0.5) {
			t.Errorf("%s: %+v, want %g dB", c.name, got, c.want)
		}
		if len(got) == 1 && got[0].Bounded != (c.name == "mono top") {
			t.Errorf("%s: farther apart than is said: %v", c.name, got[0].Bounded)
		}
	}
	// A dull middle beside sides as they are.
	dull := through(biquad.Filter{Shape: biquad.HighShelf, FreqHz: 4000, GainDB: -6, Q: 0.7})
	mix := withSides(invented(1, 90, dull), func(hz float64) float64 { return -6 - dull(hz) })
	k := compare(t, mix, withSides(invented(1, 90, flat), even)).Verdict(0)
	k.SetSides()
	got := SideFindings(k.Sides)
	last := got[len(got)-1]
	const half = 0.05 // of the last digit here
	if len(last.Zones) != 3 || last.Kind != MidOnly || math.Abs(last.SideDB-1) > half || math.Abs(last.MidDB+3.6) > half {
		t.Errorf("%+v, want the mid 3.6 dB down from 1.78 kHz, the side 1.0 up", last)
	}
	// Their difference is the same throughout, so chance moves their sum alone; the range ends at 16 kHz.
	if air := last.Zones[2]; !(air.SumHalfDB > 2*air.HalfDB) || air.JudgedHz != [2]float64{air.LowHz, 16000} {
		t.Errorf("%+v", air)
	}
}

// A mono reference beside stereo ones is left out of what is said about width, and that is said.
func TestMonoBesideStereo(t *testing.T) {
	mono, mix := invented(1, 60, flat), wider(invented(2, 60, flat), 4)
	one, two := wider(invented(3, 60, flat), 1), wider(invented(4, 60, flat), 1)
	sides := func(refs ...*measure.Recording) *Result {
		r := compare(t, mix, refs...).Solve(DefaultSolve())
		r.SetSides()
		return r
	}
	r, want := sides(one, mono, two), sides(one, two)
	if got := find[Mono](r.Warnings); len(got) != 1 || !slices.Equal(got[0].Sides, []Side{{2, 3}}) {
		t.Errorf("mono are %+v, want reference 2 of 3", got)
	}
	if len(want.Sides) == 0 || len(r.Sides) != len(want.Sides) {
		t.Fatalf("%d zones of another width, %d without the mono reference", len(r.Sides), len(want.Sides))
	}
	for i, v := range r.Sides {
		if w := want.Sides[i]; v.Name != w.Name || math.Abs(v.SidesDB-w.SidesDB) > 0.1 || math.Abs(v.MiddleDB-w.MiddleDB) > 0.1 { // another range is judged
			t.Errorf("%s: side %.2f, mid %.2f dB; without the mono reference %.2f and %.2f", v.Name, v.SidesDB, v.MiddleDB, w.SidesDB, w.MiddleDB)
		}
	}
}

// wider gives a recording a side of that power beside a mid of 2.
func wider(r *measure.Recording, side float64) *measure.Recording {
	for i := range r.Width {
		r.Width[i] = measure.WidthOf(2, side)
	}
	return r
}

// Where one side is mono and another is not, that is said, and no zone is said to be narrower or wider.
func TestMonoHasNoWidth(t *testing.T) {
	mono := invented(1, 60, flat)
	wide := wider(invented(2, 60, flat), 1)
	for _, row := range []struct {
		name     string
		mix, ref *measure.Recording
		want     []Side
	}{
		{"the mix", mono, wide, []Side{{0, 1}}},
		{"the reference", wide, mono, []Side{{1, 1}}},
		{"both", mono, invented(3, 60, flat), nil},
		{"none", wide, wide, nil},
	} {
		r := compare(t, row.mix, row.ref).Solve(DefaultSolve())
		r.SetSides()
		var got []Side
		for _, m := range find[Mono](r.Warnings) {
			got = append(got, m.Sides...)
		}
		if !slices.Equal(got, row.want) || len(r.Sides) > 0 {
			t.Errorf("%s: mono are %v, want %v; %d zones of another width", row.name, got, row.want, len(r.Sides))
		}
	}
}
