package report

import (
	"math"
	"strings"
	"testing"
)

// The reading of a check says where the mix is at a band as its table does for the zone, and its
// places are those of the chart's axis.
func TestCheckReading(t *testing.T) {
	look := ChartOptions{WidthPx: 1200, HeightPx: 800, DPI: 184, Bare: true, Steady: true}
	for name, k := range checks() {
		r, err := CheckReading(k, look)
		if err != nil {
			t.Fatal(err)
		}
		if len(r.Words) != len(r.FreqHz) || !(r.LeftPx > 0 && r.LeftPx < r.RightPx && r.RightPx < float64(look.WidthPx)) {
			t.Errorf("%s: %d texts at %d frequencies, from %g to %g", name, len(r.Words), len(r.FreqHz), r.LeftPx, r.RightPx)
		}
		for b, hz := range r.FreqHz {
			if hz > 14000 && hz < 16000 && !k.Judged()[b] && !strings.Contains(r.Words[b], "near or above 16.5 kHz, where ") {
				t.Errorf("%s: why 16.5 kHz leave out %.1f Hz is not said: %q", name, hz, r.Words[b])
			}
			for _, z := range k.Zones {
				named := strings.Contains(r.Words[b], "· "+z.Name+" as a whole: ")
				within := float64(hz) >= z.LowHz && float64(hz) < z.HighHz && k.Judged()[b] && !math.IsNaN(z.DifferenceDB)
				if named != within {
					t.Errorf("%s: %.1f Hz: %q", name, hz, r.Words[b])
				}
			}
		}
	}
}
