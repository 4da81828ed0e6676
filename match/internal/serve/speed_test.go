package serve

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"toneplumb/match/internal/browser"
	"toneplumb/spectrum/testkit"
)

// How long a changed field waits for its new chart with two recordings of four minutes, on
// the server and in the browser, whose part is to put the picture in the page. It is told,
// not held: other work on the machine changes it.
func TestSpeed(t *testing.T) {
	testkit.Long(t, "drives a browser")
	const aim = 50.0 // ms; our choice: a person who drags a dial sees no delay
	v := start(t)
	b := v.open()
	b.dropOn("mix.wav", onDisk(t, sound(t, 240, 1, faults...)), "reference.wav", onDisk(t, sound(t, 240, 2)))
	b.Until(settled)
	for _, field := range []struct {
		name, selector string
		values         []string
	}{
		{"how far", "#toward", []string{"61", "73", "88", "42", "35", "97", "66"}},
		{"smoothing", "#smooth", []string{"1", "0.5", "0.1667", "0.0833", "0.0417", "0.3333"}},
		{"range", "#range-low", []string{"50", "63", "71", "80", "92", "47"}},
		{"moves at most", "#max-moves", []string{"1", "2", "3", "5", "6", "4"}},
		{"a part", "#mix-times", []string{"0-200", "0-150", "0-120", "0-170", "0-190"}},
		{"a move by hand", "#rows li:first-of-type [data-name=gain_db] input[type=text]", []string{"1", "2", "3", "-1", "-2", "0.5", "5"}},
	} {
		var ms []float64
		for _, value := range field.values {
			b.set(field.selector, value)
			ms = append(ms, browser.Eval[float64](b.Tab, `app.shownMs`))
			time.Sleep(300 * time.Millisecond) // a hand is slower
		}
		slices.Sort(ms)
		middle := ms[len(ms)/2]
		t.Logf("%s: %.0f ms in the middle of %s, aim %g", field.name, middle, fmt.Sprintf("%.0f", ms), aim)
	}
	b.Quiet()
}

// How long a dragged slider takes to its curve in each engine, with two recordings of four minutes,
// stopped and playing. It is told, not held, as in TestSpeed.
func TestDragSpeed(t *testing.T) {
	testkit.Long(t, "drives three browsers")
	const (
		aim   = 50.0 // ms, as in TestSpeed
		steps = 100
	)
	mix, reference := onDisk(t, sound(t, 240, 1, faults...)), onDisk(t, sound(t, 240, 2))
	browser.Each(t, func(t *testing.T) {
		b := start(t).open()
		b.dropOn("mix.wav", mix, "reference.wav", reference)
		b.Until(settled + ` && heard !== null`)
		tell := func(when string) {
			ms := b.slidMS(steps)
			slices.Sort(ms)
			t.Logf("%s, %d steps: %.0f ms in the middle, %.0f at nine in ten, %.0f at most, aim %g", when, steps, ms[steps/2], ms[steps*9/10], ms[steps-1], aim)
			b.Until(settled)
		}
		tell("stopped")
		b.Click("#play")
		b.Until(`heard.transport.playing`)
		tell("playing")
		b.Quiet()
	})
}

// slidMS drags the first move's slider by so many steps, and returns for each how many milliseconds
// pass until its curve is on the screen: in the task after the frame that draws it.
func (b *tab) slidMS(steps int) []float64 {
	b.T.Helper()
	return browser.Eval[[]float64](b.Tab, fmt.Sprintf(`(async () => {
		const slider = document.querySelector("#rows li:first-of-type [data-name=gain_db] input[type=range]"), all = [];
		for (let i = 0; i < %d; i++) {
			const began = performance.now();
			slider.value = Number(slider.min) + ((i %% 20) / 20) * (slider.max - slider.min);
			slider.dispatchEvent(new Event("input"));
			await new Promise((drawn) => requestAnimationFrame(() => setTimeout(drawn)));
			all.push(performance.now() - began);
			await new Promise((done) => setTimeout(done, 30));
		}
		slider.dispatchEvent(new Event("change"));
		return all;
	})()`, steps))
}
