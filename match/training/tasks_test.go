package training

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/memory"
	"toneplumb/spectrum/testkit"
)

// tasksOf draws on music in general.
func tasksOf(t testing.TB, n int, d Difficulty, seed uint64) [][]biquad.Filter {
	t.Helper()
	tasks, err := DrawTasks(n, Draw{Rules: d.Rules(), Seed: seed}, newHearing(music(20, 20000), 44100))
	if err != nil {
		t.Fatal(err)
	}
	return tasks
}

// music is a mean spectrum between two frequencies, per band: level with frequency up to 100 Hz, −5 dB
// per octave of density beyond, steeper from 4 kHz on. Source: P. D. Pestana and others, Spectral
// Characteristics of Popular Commercial Recordings 1950–2010, AES 135th Convention, 2013
// (from memory).
func music(lowHz, highHz float64) []float64 {
	power := make([]float64, spectrum.BandCount)
	for b, hz := range spectrum.Centres() {
		if hz < lowHz || hz > highHz {
			continue
		}
		db := -5*math.Log2(math.Max(hz, 100)/100) - 3*math.Log2(math.Max(hz, 4000)/4000)
		power[b] = spectrum.DBToPower(db) * hz // bands grow with frequency
	}
	return power
}

// 1,000 lessons of each difficulty: zones, shapes and signs each within a fifth of equal
// shares, all changes inside the stated range, no render in two difficulties. Without
// TONEPLUMB_LONG 40 lessons are drawn. With -update
// the figures are written to testdata/tasks.md.
func TestDrawTasks(t *testing.T) {
	testkit.Skip(t, "draws tasks by the thousand")
	const renders = 12
	lessons := 40
	long := os.Getenv("TONEPLUMB_LONG") != ""
	if long {
		lessons = 1000
	}
	const mostOff = 0.2 // of an equal share
	h := newHearing(music(20, 20000), 44100)
	var table bytes.Buffer
	fmt.Fprintf(&table, "# Drawn tasks\n\n%d lessons of %d renders on a mean spectrum of music. Run again: `TONEPLUMB_LONG=1 go test ./match/training -run TestDrawTasks$ -update`.\n\n", lessons, renders)
	fmt.Fprint(&table, "| difficulty | change, dB (stated) | least excitation, dB | difference over masked threshold, dB | zones, shares times their number (easy leaves out the outer two) | low shelf, bell, high shelf × 3 | boosts × 2 | median gain, dB |\n|---|---|---|---|---|---|---|---|\n")
	owner := map[string]Difficulty{}
	for _, d := range []Difficulty{Easy, Medium, Hard} {
		r := d.Rules()
		var zones [7]float64
		var shapes [5]float64
		var all, ups float64
		var gains []float64
		low, high, excitation, over := math.Inf(1), 0.0, math.Inf(1), [2]float64{math.Inf(1), math.Inf(-1)}
		moves := map[int]int{}
		for seed := range uint64(lessons) {
			tasks, err := DrawTasks(renders, Draw{Rules: r, Seed: seed}, h)
			if err != nil {
				t.Fatal(err)
			}
			seen := map[string]bool{}
			for _, task := range tasks {
				name := fmt.Sprint(task)
				if other, taken := owner[name]; taken && other != d {
					t.Errorf("%v is %s and %s", task, other, d)
				}
				if owner[name] = d; seen[name] {
					t.Errorf("%s, seed %d: %v twice", d, seed, task)
				}
				seen[name] = true
				a := h.Change(task)
				low, high = math.Min(low, a.ChangeDB), math.Max(high, a.ChangeDB)
				over = [2]float64{math.Min(over[0], a.OverDB), math.Max(over[1], a.OverDB)}
				moves[len(task)]++
				for i, f := range task {
					if d == Easy && (f.FreqHz < 100 || f.FreqHz > 10000) {
						t.Errorf("easy: %v is for large loudspeakers", f)
					}
					k := KindOf(f)
					zones[k.Zone]++
					shapes[f.Shape]++
					all++
					if k.Up {
						ups++
					}
					gains = append(gains, math.Abs(f.GainDB))
					excitation = math.Min(excitation, h.Change([]biquad.Filter{f}).ExcitationDB)
					if i > 0 && math.Log2(f.FreqHz/task[i-1].FreqHz) < apartOct-1e-9 {
						t.Errorf("%s: too near: %v", d, task)
					}
				}
			}
		}
		if low < r.LeastDB || high > r.MostDB || excitation < r.ExcitationDB {
			t.Errorf("%s: changes of %.3f to %.3f dB, excitation of %.2f; stated %+v", d, low, high, excitation, r)
		}
		for n := 1; n <= r.MostMoves; n++ {
			if moves[n] < lessons {
				t.Errorf("%s: %d renders have %d moves", d, moves[n], n)
			}
		}
		shares, left := []float64{}, 0.0 // zones that are left by what the loudspeakers play
		for z := range zones {
			if d != Easy || z != 0 && z != 6 {
				left++
			}
		}
		for _, n := range zones {
			shares = append(shares, left*n/all)
		}
		shares = append(shares, 3*shapes[biquad.LowShelf]/all, 3*shapes[biquad.Bell]/all, 3*shapes[biquad.HighShelf]/all, 2*ups/all)
		for i, s := range shares {
			if d == Easy && (i == 0 || i == 6) {
				if s > 0 {
					t.Errorf("easy: zone %d, where small loudspeakers play nothing, has moves", i)
				}
			} else if math.Abs(s-1) > mostOff {
				t.Errorf("%s: share %d is %.2f of an equal one: %.2f", d, i, s, shares)
			}
		}
		slices.Sort(gains)
		fmt.Fprintf(&table, "| %s | %.2f to %.2f (%.2g to %.2g) | %.1f | %.0f to %.0f | %.2f | %.2f | %.2f | %.1f |\n", d, low, high, r.LeastDB, r.MostDB, excitation, over[0], over[1], shares[:7], shares[7:10], shares[10], gains[len(gains)/2])
	}
	if long {
		testkit.Golden(t, filepath.Join("testdata", "tasks.md"), table.Bytes())
	}
}

// Where little can be heard, tasks lie where there is something; in silence there are none.
func TestDrawTasksSparse(t *testing.T) {
	guitar := newHearing(music(160, 5000), 44100)
	for _, d := range []Difficulty{Easy, Medium, Hard} {
		tasks, err := DrawTasks(12, Draw{Rules: d.Rules(), Seed: 1}, guitar)
		if err != nil {
			t.Fatalf("%s: %v", d, err)
		}
		for _, task := range tasks {
			if a := guitar.Change(task); a.ChangeDB < d.Rules().LeastDB || a.ChangeDB > d.Rules().MostDB {
				t.Errorf("%s: %v changes %.2f dB", d, task, a.ChangeDB)
			}
		}
	}
	if _, err := DrawTasks(1, Draw{Rules: Easy.Rules()}, newHearing(make([]float64, spectrum.BandCount), 44100)); err != ErrUnheard {
		t.Errorf("silence: %v", err)
	}
}

// All renders are equally loud, and none comes over −1 dBTP.
func TestRenders(t *testing.T) {
	const rate = 44100
	const toleranceLU = 0.02 // gates that open a little otherwise
	x := times(piece(12, rate, 7), 0.2)
	for i := 5 * rate; i < 9*rate; i++ {
		x[i] *= 6
	}
	for _, loud := range []float64{0.1, 3} {
		y := times(x, loud)
		e, err := NewExcerpt(context.Background(), &memory.Sound{RateHz: rate, X: [][]float64{y, y}}, 5, 9)
		if err != nil || len(e.Sound[0]) != 4*rate || e.Sound[0][0] != 0 {
			t.Fatalf("excerpt: %v", err)
		}
		tasks := tasksOf(t, 5, Hard, 3)
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
	e, err := NewExcerpt(context.Background(), &memory.Sound{RateHz: rate, X: [][]float64{silence}}, 0, 4)
	if err != nil {
		t.Fatal(err)
	}
	if err := e.Renders(nil, nil); !errors.Is(err, ErrSilent) {
		t.Errorf("silence: %v", err)
	}
	if _, err := NewExcerpt(context.Background(), &memory.Sound{RateHz: rate, X: [][]float64{x}}, 11, 13); err == nil {
		t.Error("an excerpt of one second")
	}
}

// sealedRules are those of a sealed exercise: what drawing alone needs is not kept.
var sealedRules = Rules{Name: "hard", MostMoves: 3, LeastDB: 0.35, MostDB: 0.6, ExcitationDB: 1}

func TestSeal(t *testing.T) {
	a := &Answers{Mix: "mix.wav", Rules: sealedRules, Seed: 7, RateHz: 44100, FromSec: 31.5, Tasks: tasksOf(t, 12, Hard, 7)}
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
	for _, other := range []string{"", "{}", `{"version": 1}`, `{"version": 3, "kind": "answers of an exercise"}`} {
		if _, err := Open(strings.NewReader(other), ""); err == nil {
			t.Errorf("%q was opened", other)
		}
	}
}

// Locked answers open with their password alone, and are the same bytes each time.
func TestLock(t *testing.T) {
	a := &Answers{Mix: "mix.wav", Rules: sealedRules, Seed: 7, RateHz: 44100, FromSec: 31.5, Tasks: tasksOf(t, 12, Hard, 7)}
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
