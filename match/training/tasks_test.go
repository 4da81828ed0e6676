package training

import (
	"bytes"
	"context"
	"errors"
	"math"
	"reflect"
	"strings"
	"testing"
)

func TestDrawTasks(t *testing.T) {
	for level, r := range levelRules {
		tasks := DrawTasks(99, level, 1)
		if !reflect.DeepEqual(tasks, DrawTasks(99, level, 1)) {
			t.Errorf("%s: the same seed gives other tasks", level)
		}
		if reflect.DeepEqual(tasks, DrawTasks(99, level, 2)) {
			t.Errorf("%s: another seed gives the same", level)
		}
		counts := map[int]int{}
		for _, task := range tasks {
			counts[len(task)]++
			for i, f := range task {
				if db := math.Abs(f.GainDB); db < r.leastDB || db > r.topDB || f.Check(44100) != nil {
					t.Errorf("%s: %v", level, f)
				}
				if i > 0 && math.Log2(f.FreqHz/task[i-1].FreqHz) < apartOct-1e-9 {
					t.Errorf("%s: too near: %v", level, task)
				}
			}
		}
		for n := 1; n <= r.mostMoves; n++ {
			if counts[n] < 10 {
				t.Errorf("%s: %d of 99 have %d moves", level, counts[n], n)
			}
		}
	}
}

// All renders are equally loud, none comes over −1 dBTP, and the loudest part is
// found.
func TestRenders(t *testing.T) {
	const rate = 44100
	const toleranceLU = 0.02 // gates that open a little otherwise
	x := times(piece(12, rate, 7), 0.2)
	for i := 5 * rate; i < 9*rate; i++ {
		x[i] *= 6
	}
	from, err := LoudestPart(context.Background(), &memory{rateHz: rate, x: [][]float64{x, x}}, 4)
	if err != nil || math.Abs(from-5) > 0.3 {
		t.Errorf("loudest from %g s, %v", from, err)
	}
	for _, loud := range []float64{0.1, 3} {
		y := times(x, loud)
		e, err := NewExcerpt(context.Background(), &memory{rateHz: rate, x: [][]float64{y, y}}, 5, 9)
		if err != nil || len(e.Sound[0]) != 4*rate || e.Sound[0][0] != 0 {
			t.Fatalf("excerpt: %v", err)
		}
		tasks := DrawTasks(5, Hard, 3)
		first, highest := 0.0, math.Inf(-1)
		err = e.Renders(tasks, func(i int, r Rendered) error {
			if i == 0 {
				first = r.LoudLUFS
			}
			highest = math.Max(highest, r.PeakDBTP)
			if math.Abs(r.LoudLUFS-first) > toleranceLU {
				t.Errorf("render %d: %.3f LUFS, the plain one %.3f", i, r.LoudLUFS, first)
			}
			return nil
		})
		if err != nil || highest > peakDBTP+0.001 {
			t.Errorf("highest peak %.3f dBTP, %v", highest, err)
		}
		if loud > 1 && highest < peakDBTP-0.01 {
			t.Errorf("turned down further than needed: %.3f dBTP", highest)
		}
	}
	silence := make([]float64, 5*rate)
	e, err := NewExcerpt(context.Background(), &memory{rateHz: rate, x: [][]float64{silence}}, 0, 4)
	if err != nil {
		t.Fatal(err)
	}
	if err := e.Renders(nil, nil); !errors.Is(err, ErrSilent) {
		t.Errorf("silence: %v", err)
	}
	if _, err := NewExcerpt(context.Background(), &memory{rateHz: rate, x: [][]float64{x}}, 11, 13); err == nil {
		t.Error("an excerpt of one second")
	}
}

func TestSeal(t *testing.T) {
	a := &Answers{Mix: "mix.wav", Level: Hard, Seed: 7, RateHz: 44100, FromSec: 31.5, Tasks: DrawTasks(12, Hard, 7)}
	var b bytes.Buffer
	if err := a.Seal(&b, ""); err != nil {
		t.Fatal(err)
	}
	text := b.String()
	for _, word := range []string{"shelf", "bell", "gain", "freq"} {
		if strings.Contains(text, word) {
			t.Errorf("%q can be read in it", word)
		}
	}
	got, err := Open(strings.NewReader(text), "")
	if err != nil || !reflect.DeepEqual(got, a) {
		t.Errorf("%+v, %v", got, err)
	}
	at := strings.Index(text, `"sealed": "`) + 60
	for name, changed := range map[string]string{
		"a letter":  text[:at] + string(rune('A'+(text[at]+1)%26)) + text[at+1:],
		"the check": strings.Replace(text, `"check": "`, `"check": "0`, 1),
	} {
		if _, err := Open(strings.NewReader(changed), ""); err != ErrBroken {
			t.Errorf("%s changed: %v", name, err)
		}
	}
	for _, other := range []string{"", "{}", `{"version": 1}`, `{"version": 2, "kind": "answers of an exercise"}`} {
		if _, err := Open(strings.NewReader(other), ""); err == nil {
			t.Errorf("%q was opened", other)
		}
	}
}

// Locked answers open with their password alone, and are the same bytes each time.
func TestLock(t *testing.T) {
	a := &Answers{Mix: "mix.wav", Level: Hard, Seed: 7, RateHz: 44100, FromSec: 31.5, Tasks: DrawTasks(12, Hard, 7)}
	var b, again bytes.Buffer
	if err := errors.Join(a.Seal(&b, "Gänge im Schloß"), a.Seal(&again, "Gänge im Schloß")); err != nil || b.String() != again.String() {
		t.Fatalf("%v, the same bytes: %v", err, b.String() == again.String())
	}
	got, err := Open(&again, "Gänge im Schloß")
	if err != nil || !reflect.DeepEqual(got, a) {
		t.Errorf("%+v, %v", got, err)
	}
	at := strings.Index(b.String(), `"locked": "`) + 60
	for name, c := range map[string]struct {
		text, password string
		want           error
	}{
		"no password":      {b.String(), "", ErrLocked},
		"another password": {b.String(), "x", ErrPassword},
		"changed":          {b.String()[:at] + string(rune('A'+(b.String()[at]+1)%26)) + b.String()[at+1:], "Gänge im Schloß", ErrPassword},
	} {
		if _, err := Open(strings.NewReader(c.text), c.password); err != c.want {
			t.Errorf("%s: %v, want %v", name, err, c.want)
		}
	}
}

// Another recording hides other moves under the same number.
func TestSeedFor(t *testing.T) {
	seed, again := SeedFor(1, []byte("a")), SeedFor(1, []byte("a"))
	if seed == SeedFor(1, []byte("b")) || seed == SeedFor(2, []byte("a")) || seed != again {
		t.Error("the seed does not depend on number and recording alone")
	}
}
