package biquad

import (
	"math"
	"testing"
)

func TestShapeWords(t *testing.T) {
	for s := LowShelf; s <= HighCut; s++ {
		if got, ok := ParseShape(s.String()); !ok || got != s {
			t.Errorf("ParseShape(%q) = %v, %v, want %v", s.String(), got, ok, s)
		}
	}
	if _, ok := ParseShape("notch"); ok {
		t.Error("ParseShape knows a shape that does not exist")
	}
}

func TestCheck(t *testing.T) {
	const rate = 48000
	nan := math.NaN()
	for _, row := range []struct {
		name string
		f    Filter
		rate float64
		ok   bool
	}{
		{"bell", Filter{Bell, 1000, 6, 1, 0}, rate, true},
		{"bell at half the rate", Filter{Bell, 24000, 6, 1, 0}, rate, false},
		{"bell at 0 Hz", Filter{Bell, 0, 6, 1, 0}, rate, false},
		{"bell without Q", Filter{Bell, 1000, 6, 0, 0}, rate, false},
		{"bell with a gain that is no number", Filter{Bell, 1000, nan, 1, 0}, rate, false},
		{"bell at a frequency that is no number", Filter{Bell, nan, 6, 1, 0}, rate, false},
		{"bell without a rate", Filter{Bell, 1000, 6, 1, 0}, 0, false},
		{"shelf with Q that is no number", Filter{LowShelf, 1000, 6, nan, 0}, rate, false},
		{"cut without Q", Filter{LowCut, 30, 0, 0, 24}, rate, true},
		{"cut of 30 dB/oct", Filter{HighCut, 30, 0, 0, 30}, rate, false},
		{"cut of 0 dB/oct", Filter{LowCut, 30, 0, 0, 0}, rate, false},
		{"no shape", Filter{HighCut + 1, 1000, 6, 1, 12}, rate, false},
	} {
		err := row.f.Check(row.rate)
		if (err == nil) != row.ok {
			t.Errorf("%s: Check = %v, want ok = %v", row.name, err, row.ok)
		}
		if !row.ok && !panics(func() { row.f.Sections(row.rate) }) {
			t.Errorf("%s: Sections did not panic", row.name)
		}
	}
}

func panics(f func()) (did bool) {
	defer func() { did = recover() != nil }()
	f()
	return false
}
