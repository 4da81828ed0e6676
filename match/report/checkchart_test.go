package report

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"toneplumb/match"
	"toneplumb/spectrum/finding"
)

func TestCheckChartNamesBothSides(t *testing.T) {
	for name, k := range checks() {
		f := CheckChart(k, ChartOptions{})
		lines := strings.Join(append([]string{f.Title}, f.Lines...), "\n")
		for _, want := range []string{CheckSentence(k), "mix: " + k.Mix.Name, ": " + k.References[0].Name} {
			if !strings.Contains(lines, want) {
				t.Errorf("%s: no %q in\n%s", name, want, lines)
			}
		}
	}
}

func TestCheckChartExplainsItsMarks(t *testing.T) {
	k := *checks()["check-several"]
	k.Warnings = finding.List{match.TruePeak{DBTP: 0.5}, match.MoreFileRemarks{Count: 1}, match.MoreFileRemarks{Count: 2}}
	k.Zones = slices.Clone(k.Zones)
	for i := range k.Zones {
		k.Zones[i].Verdict, k.Zones[i].Why = match.NearEnough, match.NoDoubt
		k.Zones[i].DifferenceDB, k.Zones[i].UsualDB, k.Zones[i].ToleranceDB = 1, 2, 3
	}
	if notes := CheckChart(&k, ChartOptions{}).Footnotes; len(notes) != 5 {
		t.Errorf("%q", notes)
	}
	k.Zones[1].Verdict, k.Zones[2].DifferenceDB, k.Zones[2].UsualDB, k.Zones[2].ToleranceDB = match.Unusual, 8, 7, 9
	const want = "Unusual: nine songs in ten lie nearer in that zone. ~: inside only because songs differ much there, so listen."
	if notes := CheckChart(&k, ChartOptions{}).Footnotes; notes[0] != want || len(notes) != 6 {
		t.Errorf("%q", notes)
	}
}

func TestCheckChartShowsTheEarlierMix(t *testing.T) {
	k := checks()["check-near"]
	f := CheckChart(k, ChartOptions{})
	p := f.Panels[len(f.Panels)-1]
	curveOf(t, p.Curves, "before")
	if !strings.HasPrefix(f.Lines[1], "before: mix of monday") {
		t.Errorf("%q", f.Lines)
	}
	if notes := strings.Join(f.Footnotes, "\n"); f.Table.Header[3] != "it was" || f.Table.Rows[1][3] != "3.8 dB over" || !strings.Contains(notes, "3.50\u00a0dB then, 1.25\u00a0dB now (nearer)") {
		t.Errorf("table %q, %q; notes %s", f.Table.Header, f.Table.Rows[1], notes)
	}
}

func TestCheckChartOfANarrowerEarlierMix(t *testing.T) {
	k := checks()["check-narrower"]
	f, p := CheckChart(k, ChartOptions{}), k.Since
	before := curveOf(t, f.Panels[len(f.Panels)-1].Curves, "before").DB
	for b, db := range drawnDifference(&match.Result{Comparison: p.Before}) {
		if want := -db - p.ShiftDB; math.Abs(before[b]-want) > 1e-9 || b == 100 && math.IsNaN(want) {
			t.Fatalf("band %d: %g, want %g", b, before[b], want)
		}
	}
	if row := f.Table.Rows[2]; row[3] != "5.6 dB under" || row[4] != row[3] || f.Table.Rows[5][3] != "" || !strings.Contains(strings.Join(f.Footnotes, ""), "51.6\u00a0Hz to 5.31\u00a0kHz") {
		t.Errorf("%q, %q; %q", row, f.Table.Rows[5], f.Footnotes)
	}
}

func TestCheckNotesAreNamed(t *testing.T) {
	k := checks()["check-near"]
	k.Sides, k.Warnings = checks()["check-several"].Sides, finding.List{match.TruePeak{DBTP: -0.31}}
	notes, names := checkNotes(k)
	if want := []string{"distance", "the earlier mix", "stereo width", "true-peak"}; !slices.Equal(slices.Compact(slices.Clone(names)), want) || len(notes) != len(names) {
		t.Errorf("%q are called %q", notes, names)
	}
	const want = "No room here for: the earlier mix, stereo width and true peak."
	if some := thatFit(notes, names, 1, 100, true); len(some) != 2 || some[1] != want {
		t.Errorf("%q", some)
	}
}

func TestCheckChart(t *testing.T) {
	for name, k := range checks() {
		var got, again, svg bytes.Buffer
		if err := CheckChart(k, ChartOptions{}).WritePNG(&got); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if err := CheckChart(k, ChartOptions{}).WritePNG(&again); err != nil || !bytes.Equal(got.Bytes(), again.Bytes()) {
			t.Errorf("%s: two charts differ (%v)", name, err)
		}
		if err := CheckChart(k, ChartOptions{}).WriteSVG(&svg); err != nil || !bytes.HasPrefix(svg.Bytes(), []byte("<svg")) {
			t.Errorf("%s: no SVG (%v)", name, err)
		}
		if *draw != "" {
			if err := os.WriteFile(filepath.Join(*draw, name+".png"), got.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
}
