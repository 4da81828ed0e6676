package flags

import (
	"math"
	"reflect"
	"strings"
	"testing"

	"toneplumb/spectrum/measure"
)

func TestParseTime(t *testing.T) {
	for s, want := range map[string]float64{
		"0": 0, "45": 45, "0:45": 45, "1:30": 90, "1:02.5": 62.5, "62.5": 62.5, "1:10:00": 4200, "0:5": 5, "90:00": 5400, "00:00:01.25": 1.25,
	} {
		if got, err := parseTime(s); err != nil || got != want {
			t.Errorf("%q: %g (%v), want %g", s, got, err, want)
		}
	}
	for _, s := range []string{
		"", ":", "1:", ":30", "1:60", "1:2:60", "1:60:00", "1:2:3:4", "-1", "+1", "1e3", "0x10", "NaN", "Inf", "1_0", "1,5", "1.", ".5", "1.5:00",
		"1:030", " 1", "12345678", "1m30s", "１",
	} {
		if got, err := parseTime(s); err == nil {
			t.Errorf("%q is read as %g", s, got)
		}
	}
}

func TestParsePassages(t *testing.T) {
	for s, want := range map[string]measure.Passages{
		"0:45-1:30":                      {{45, 90}},
		" 0:45 – 1:30 ":                  {{45, 90}},
		"2:00-2:40, 0:45-1:30":           {{45, 90}, {120, 160}},
		"10-20,20-30,25-26,40-50,39-41":  {{10, 30}, {39, 50}},
		"1:02.5-1:03,1:00:00-1:00:00.25": {{62.5, 63}, {3600, 3600.25}},
	} {
		if got, err := ParsePassages(s); err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%q: %v (%v), want %v", s, got, err, want)
		}
	}
	for s, want := range map[string]string{
		"":                    `"" is not two times`,
		"0:45":                `"0:45" is not two times`,
		"0:45-":               `"" is no time`,
		"0:45-1:75":           `"1:75" is no time: a time is m:ss, h:mm:ss or seconds`,
		"1:30-0:45":           `"1:30-0:45" runs backwards`,
		"1:30-1:30":           `runs backwards or lasts nothing`,
		"0:10-0:20,":          `"" is not two times`,
		"0:10-0:20-0:30":      `"0:20-0:30" is no time`,
		"0:10-0:20;0:30-0:40": `is no time`,
	} {
		if got, err := ParsePassages(s); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, %v; want %q", s, got, err, want)
		}
	}
}

func FuzzPassages(f *testing.F) {
	for _, s := range []string{"0:45-1:30", "1:02.5-2:00,3:00-1:00:00", "10–20", "-", "5-4", "1:60-2", "1e9-NaN", ",,"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if sec, err := parseTime(s); err == nil && !(sec >= 0 && sec < 1e11 && !math.IsInf(sec, 0)) {
			t.Errorf("%q is %g s", s, sec)
		}
		p, err := ParsePassages(s)
		if err != nil {
			return
		}
		end := math.Inf(-1)
		for _, x := range p {
			if !(x[0] > end && x[1] > x[0]) {
				t.Errorf("%q: %v are not in order and apart", s, p)
			}
			end = x[1]
		}
		if len(p) == 0 || !(p[0][0] >= 0) {
			t.Errorf("%q: %v", s, p)
		}
	})
}
