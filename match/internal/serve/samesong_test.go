package serve

import (
	"strings"
	"testing"
)

// A part for the reference alone also cuts the mix if both are one song, and the page says so.
func TestPartOfSameSong(t *testing.T) {
	v := enter(t)
	mix, ref := v.drop("m.wav", sound(t, 30, 1, faults...)), v.drop("r.wav", sound(t, 30, 1))
	v.measured(mix)
	v.measured(ref)
	var got resultAnswer
	v.post("/result", with(usual(mix, ref), "ref_part", [][2]float64{{5, 20}}), &got)
	if all := strings.Join(got.Words.Warnings, " "); !strings.Contains(all, "Of the same song, only moments that count in both recordings are compared.") {
		t.Errorf("the remarks: %s", all)
	}
	if r := got.Words.Recordings; r[0].Counted != "the same moments as of the reference" || r[1].Counted != "0:05-0:20" {
		t.Errorf("%+v", r)
	}
	v.post("/result", usual(mix, ref), &got)
	if r := got.Words.Recordings; r[0].Counted != "" || strings.Contains(strings.Join(got.Words.Warnings, " "), "moments") {
		t.Errorf("without a part: %+v, %q", r, got.Words.Warnings)
	}
}
