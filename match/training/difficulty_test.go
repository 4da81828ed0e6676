package training

import (
	"testing"
	"toneplumb/biquad"
)

// A course goes from wide to narrow, from much to little, from one move to three, and what
// was missed comes back.
func TestCourse(t *testing.T) {
	h := newHearing(music(20, 20000), 44100)
	var before Rules
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
		for _, task := range tasks {
			for _, f := range task {
				back[KindOf(f)] = true
			}
		}
		if !back[missed[0]] || !back[missed[1]] {
			t.Errorf("lesson %d: what was missed does not come back: %v", lesson, tasks)
		}
	}
	if one := Lesson(1, 1); one.MostMoves != 1 {
		t.Errorf("a course of one lesson: %+v", one)
	}
}
