package report

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"toneplumb/match"
	"toneplumb/spectrum/finding"
)

// Every move and the trim are in the chart, whatever else is to be said; remarks without room are named.
func TestChartHasRoom(t *testing.T) {
	for _, moves := range []int{1, 4, 5, 8} {
		r := invented("mix.wav", "ref.wav", someMoves(moves))
		r.Warnings = finding.List{match.ShortMusic{Sec: []match.Figure{{Side: match.Side{}, Value: 40}}}, match.MoreFileRemarks{Count: 2},
			match.Mastered{ReferenceDB: 8.9, MixDB: 16, References: 1}, match.Clipped{Places: 12}, match.Mono{Sides: []match.Side{{}}},
			match.MoreFileRemarks{Count: 2},
			match.Mastered{ReferenceDB: 8.9, MixDB: 16, References: 1}, match.LargeMoves{Moves: []int{2}}, match.LargeMoves{Moves: []int{3}}}
		f := Chart(r, ChartOptions{})
		var file bytes.Buffer
		if err := f.WriteSVG(&file); err != nil {
			t.Fatal(err)
		}
		if text := file.String(); !strings.Contains(text, "shape trim") {
			t.Errorf("%d moves: the trim is missing from the table", moves)
		}
		if want := "• No room here for: mastered and large moves."; !slices.Contains(f.Footnotes, want) {
			t.Errorf("%d moves: %q, want %q", moves, f.Footnotes, want)
		}
	}
}

// Remarks have room by lines: two that are longer than half a line share none.
func TestRemarksByLines(t *testing.T) {
	for _, c := range []struct {
		letters  int
		bulleted bool
		want     int
	}{{88, true, 5}, {83, true, 5}, {82, true, 9}, {82, false, 5}, {171, true, 2}} { // 2·(82 + 2) + 1 = 169
		remarks := slices.Repeat([]string{strings.Repeat("m", c.letters)}, 9)
		got := thatFit(remarks, slices.Repeat([]string{"mono"}, 9), 5, 169, c.bulleted)
		if n := len(got) - 1; c.want == 9 && len(got) != 9 || c.want < 9 && (n != c.want || got[n] != "No room here for: mono.") {
			t.Errorf("%+v: %q", c, got)
		}
	}
}
