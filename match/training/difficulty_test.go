package training

import (
	"bytes"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum/testkit"
)

// A course goes from wide to narrow, from much to little, from one move to three, and what
// was missed comes back.
func TestCourse(t *testing.T) {
	h := newHearing(music(20, 20000), 44100)
	var before Rules
	var table bytes.Buffer
	fmt.Fprint(&table, "# A course of eight lessons\n\nTwelve renders each on a mean spectrum of music. Run again: `go test ./match/training -run TestCourse -update`.\n\n| lesson | moves at most | Q of bells | change, dB | gains, dB: least, median, most | median of bells from 100 Hz to 8 kHz |\n|---|---|---|---|---|---|\n")
	for lesson := 1; lesson <= 8; lesson++ {
		r := Lesson(lesson, 8)
		if lesson > 1 && (r.MostDB >= before.MostDB || r.BellQ[0] <= before.BellQ[0] || r.MostMoves < before.MostMoves) {
			t.Errorf("lesson %d is no harder: %+v after %+v", lesson, r, before)
		}
		before = r
		missed := []Kind{{2, biquad.Bell, false}, {4, biquad.HighShelf, true}}
		tasks, err := DrawTasks(12, Draw{Rules: r, Seed: 3, Missed: missed}, h)
		if err != nil {
			t.Fatalf("lesson %d: %v", lesson, err)
		}
		back := map[Kind]bool{}
		var gains, middle []float64
		for _, task := range tasks {
			for _, f := range task {
				back[KindOf(f)] = true
				gains = append(gains, math.Abs(f.GainDB))
				if f.Shape == biquad.Bell && f.FreqHz >= 100 && f.FreqHz <= 8000 {
					middle = append(middle, math.Abs(f.GainDB))
				}
			}
		}
		slices.Sort(gains)
		slices.Sort(middle)
		fmt.Fprintf(&table, "| %d | %d | %.2f | %.2g to %.2g | %g, %g, %g | %g |\n", lesson, r.MostMoves, r.BellQ[0], r.LeastDB, r.MostDB, gains[0], gains[len(gains)/2], gains[len(gains)-1], middle[len(middle)/2])
		if !back[missed[0]] || !back[missed[1]] {
			t.Errorf("lesson %d: what was missed does not come back: %v", lesson, tasks)
		}
	}
	testkit.Golden(t, filepath.Join("testdata", "course.md"), table.Bytes())
	if one := Lesson(1, 1); one.MostMoves != 1 {
		t.Errorf("a course of one lesson: %+v", one)
	}
}
