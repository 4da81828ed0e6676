package match

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"toneplumb/spectrum/testkit"
)

// The advice on real music whose right answer is known. The songs' tables, no sound, are
// in testdata, see the README there, or those of more songs in the file that
// TONEPLUMB_TABLES names; the table of the README comes from
//
//	TONEPLUMB_TABLES=all.json go test -timeout 60m -run TestAdvice ./match -update
//
// TONEPLUMB_LONG=1 adds the rule to beat.

// adviceRow is one question, its bar for whole songs of many packages (our choice: what
// makes the advice worth following), and what the few of testdata, 200 s of each, must
// hold, so that it does not grow worse unnoticed.
type adviceRow struct {
	kind    string
	faultDB float64
	stage   Stage
	toward  float64
	cells   []adviceCell
}

type adviceCell struct {
	name     string
	value    func([]outcome) float64
	bar, few float64 // at most
}

var adviceRows = []adviceRow{
	{"halves", 2, Finished, 100, []adviceCell{
		{"left, median dB", leftMedian, 0.90, 1.3}, {"left, mean dB", leftMean, 1.00, 1.4}, {"worse than nothing, %", worse, 6, 15}}},
	{"alternate", 2, Rough, 100, []adviceCell{
		{"left, median dB", leftMedian, 0.48, 0.75}, {"likely ranges that miss, %", missed95, 8, 10}}},
	{"halves", 0, Finished, 100, []adviceCell{{"moves, median dB", movesMedian, 0.5, 0.6}}},
	{"alternate", 0, Rough, 100, []adviceCell{{"moves, median dB", movesMedian, 0.1, 0.1}}},
	{"maker", 2, Finished, 60, []adviceCell{{"left, mean dB", leftMean, 1.80, 1.9}, {"worse, %", worse, 20, 30}}},
	{"maker, 3", 2, Finished, 60, []adviceCell{{"left, mean dB", leftMean, 1.60, 1.9}, {"worse, %", worse, 13, 30}}},
	{"maker, 8", 2, Finished, 60, []adviceCell{{"left, mean dB", leftMean, 1.55, 2}, {"worse, %", worse, 13, 50}}},
	{"maker", 0, Finished, 60, []adviceCell{{"moves, median dB", movesMedian, 0.9, 0.9}}},
	{"maker", 2, Rough, 60, []adviceCell{{"left, mean dB", leftMean, 2, 2.1}, {"worse, %", worse, 45, 50}}},
	{"maker", 4, Rough, 60, []adviceCell{{"left, mean dB", leftMean, 2.85, 3.1}, {"worse, %", worse, 15, 15},
		{"useless moves, % of mixes", useless, 10, 10}}},
	{"maker", 6, Rough, 60, []adviceCell{{"left, mean dB", leftMean, 3.9, 4.4}, {"worse, %", worse, 2, 6}}},
	{"maker, 3", 4, Rough, 60, []adviceCell{{"left, mean dB", leftMean, 2.65, 3.0}, {"worse, %", worse, 5, 15}}},
	{"another", 2, Finished, 60, []adviceCell{{"worse, %", worse, 15, 32}, {"refused, %", refused, 100, 100}}},
	{"another", 4, Rough, 60, []adviceCell{{"worse, %", worse, 15, 20}, {"refused, %", refused, 100, 100}}},
	{"maker", 0, Rough, 60, []adviceCell{{"moves, median dB", movesMedian, 2, 2}, {"farther than nothing, %", farther, 0, 0},
		{"target against a sure difference, % of bands", against, 0.5, 0.5}, {"beyond by 0.5 dB, % of bands", beyond, 0.5, 0.5},
		{"zones against by 0.5 dB, %", zonesAgainst, 2, 2}, {"fights or repeats, %", fighting, 0, 0}, {"moves undone by others, % of mixes", undone, 0, 0}, {"useless moves, % of mixes", useless, 10, 10}}},
	{"maker", 0, AsMeasured, 100, []adviceCell{{"moves undone by others, % of mixes", undone, 0, 0}, {"left of the difference, median %", leftOfDifference, 45, 60}}},
}

func over(all []outcome, stat func([]float64) float64, value func(outcome) float64) float64 {
	var x []float64
	for _, o := range all {
		x = append(x, value(o))
	}
	if len(x) == 0 {
		return 0
	}
	return stat(x)
}

func share(all []outcome, is func(outcome) bool) float64 {
	return 100 * over(all, mean, func(o outcome) float64 { return one(is(o)) })
}

func leftMedian(all []outcome) float64 {
	return over(all, median, func(o outcome) float64 { return o.leftDB })
}
func leftMean(all []outcome) float64 {
	return over(all, mean, func(o outcome) float64 { return o.leftDB })
}
func movesMedian(all []outcome) float64 {
	return over(all, median, func(o outcome) float64 { return o.movesDB })
}
func against(all []outcome) float64 {
	return 100 * over(all, mean, func(o outcome) float64 { return o.against })
}
func beyond(all []outcome) float64 {
	return 100 * over(all, mean, func(o outcome) float64 { return o.beyond })
}
func fighting(all []outcome) float64 {
	return share(all, func(o outcome) bool { return o.fights })
}

func undone(all []outcome) float64 {
	return share(all, func(o outcome) bool { return o.undone })
}

func worse(all []outcome) float64 {
	return share(all, func(o outcome) bool { return o.leftDB > o.faultDB+1e-9 })
}

func refused(all []outcome) float64 {
	return share(all, func(o outcome) bool { return o.result.Outlook == TooUnlike })
}

func farther(all []outcome) float64 {
	return share(all, func(o outcome) bool { return o.result.DistanceAfterDB > o.result.DistanceBeforeDB+1e-9 })
}

func useless(all []outcome) float64 {
	return share(all, func(o outcome) bool { return len(o.result.Moves) > 0 && o.worthDB < 0.1 })
}

func zonesAgainst(all []outcome) float64 {
	zones, off := 0.0, 0.0
	for _, o := range all {
		zones, off = zones+o.zones, off+o.zonesAgainst
	}
	return 100 * off / max(1, zones)
}

func missed95(all []outcome) float64 {
	var held []float64
	for _, o := range all {
		held = append(held, o.held...)
	}
	if held == nil {
		return 0
	}
	return 100 * (1 - mean(held))
}

func leftOfDifference(all []outcome) float64 {
	return 100 * over(all, median, func(o outcome) float64 { return o.result.DistanceAfterDB / o.result.DistanceBeforeDB })
}

func TestAdvice(t *testing.T) {
	testkit.Skip(t, "advises on all songs")
	songs := songTables(t)
	whole := os.Getenv("TONEPLUMB_TABLES") != ""
	all := trials(songs)
	var table strings.Builder
	fmt.Fprintf(&table, "| mix beside | fault, stage, toward | what | bar | all songs (n) | chosen on | held out | four bells |\n|---|---|---|---|---|---|---|---|\n")
	for _, row := range adviceRows {
		outcomes := tryAll(all, row.kind, row.faultDB, row.stage, row.toward, (*Comparison).Solve)
		var bells []outcome
		if os.Getenv("TONEPLUMB_LONG") != "" {
			bells = tryAll(all, row.kind, row.faultDB, row.stage, row.toward, fourBells)
		}
		chosen := slices.DeleteFunc(slices.Clone(outcomes), func(o outcome) bool { return o.heldOut })
		rest := slices.DeleteFunc(slices.Clone(outcomes), func(o outcome) bool { return !o.heldOut })
		for _, cell := range row.cells {
			v, bar := cell.value(outcomes), cell.few
			if whole {
				bar = cell.bar
			}
			name := fmt.Sprintf("%s | %g dB, %s, %g %%", row.kind, row.faultDB, row.stage, row.toward)
			mark := ""
			if v > bar {
				mark = " **over**"
			}
			beside := "–"
			if bells != nil {
				beside = fmt.Sprintf("%.2f", cell.value(bells))
			}
			fmt.Fprintf(&table, "| %s | %s | %g | %.2f%s (%d) | %.2f | %.2f | %s |\n", name, cell.name, bar, v, mark, len(outcomes), cell.value(chosen), cell.value(rest), beside)
			if !whole && v > bar {
				t.Errorf("%s, %s: %.3f, at most %g", name, cell.name, v, bar)
			}
		}
	}
	t.Logf("%d songs\n%s", len(songs), table.String())
	if *testkit.Update && whole {
		if err := os.WriteFile("testdata/advice.md", []byte(table.String()), 0o666); err != nil {
			t.Fatal(err)
		}
	}
}

// Part of the way never has moves where all of it has none.
func TestTowardIsMonotonic(t *testing.T) {
	testkit.Skip(t, "advises on a dozen songs")
	for _, x := range trials(songTables(t)[:12]) {
		if x.kind != "maker" && x.kind != "another" || x.faultDB != 2 {
			continue
		}
		for _, stage := range []Stage{Rough, Finished} {
			part, all := x.try(stage, 60, (*Comparison).Solve), x.try(stage, 100, (*Comparison).Solve)
			if len(part.result.Moves) > 0 && len(all.result.Moves) == 0 {
				t.Errorf("%s, %s: %d moves at 60 %%, none at 100 %%", x.mix.Path, stage, len(part.result.Moves))
			}
		}
	}
}
