package page

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match/internal/browser"
	"toneplumb/match/training"
	"toneplumb/spectrum/testkit"
)

// Practising: rounds are answered at once, the change follows the answers, what sounds the same is
// right, what is heard is the filter that tasks go through, zones are heard alone, and listeners of
// known thresholds are found within 1 dB in 40 rounds, nine of ten times at least.
func TestExercisePractice(t *testing.T) {
	testkit.Skip(t, "drives a browser")
	html, _ := exerciseOf(t, exerciseMix(t, 4), 2, training.Easy, 4)
	b := openPage(t, html)
	const trialText = `document.getElementById("trial-state").textContent`
	const hide = `(shape, zone, sign) => { const trial = liveExercise.trial, p = JSON.parse(document.getElementById("exercise").textContent).practice.places, i = p.findIndex((x) => x.shape === shape && x.zone === zone);
		Object.assign(trial.state.hidden, { number: i + 1, place: p[i], move: p[i].moves[0], sign }); }`
	answer := func(shape, zone string, up bool) {
		way := map[bool]string{true: "up", false: "down"}[up]
		b.Text(fmt.Sprintf(`document.querySelector("#trial-shapes input[value='%s']").click() || [...document.querySelectorAll("#trial-zones > div:not([hidden]) button")].find((x) => x.textContent === "%s %s").click() || ""`, shape, zone, way))
	}
	b.Want("at first", trialText, "Play to begin.")
	b.Want("a bell is chosen", `document.querySelectorAll("#trial-zones > div:not([hidden])").length`, "7")
	b.Click("#trial-play")
	b.Until(`liveExercise.trial.playing()`)
	b.Click("#trial-hear")
	b.Want("changed", `liveExercise.trial.state.changed`, "true")
	b.Text(`(` + hide + `)("low shelf", "low mids", 1) || ""`)
	answer("low shelf", "low mids", true)
	b.Want("right", trialText, "Right: it was a low shelf at 200 Hz in the low mids, +8 dB.")
	b.Want("counted", `document.getElementById("trial-score").textContent.startsWith("1 of 1 right.")`, "true")
	b.Press(browser.Enter) // Next has the focus
	b.Want("the next", trialText, "Hear it, then say which shape, where, and which way.")
	b.Text(`(` + hide + `)("bell", "mids", -1) || ""`)
	answer("bell", "mids", true)
	b.Want("wrong way", trialText, "Not this time: it was a bell at 1 kHz in the mids, −8 dB. Right of it: the shape and the zone; not the way.")
	b.Want("larger", `liveExercise.trial.stairs.gainDB`, "10")
	b.Press(browser.Enter)
	b.Text(`(` + hide + `)("high shelf", "mids", 1) || ""`)
	answer("low shelf", "mids", false)
	b.Want("turned over", trialText, "Right: it was a high shelf at 1 kHz in the mids, +10 dB. Your answer sounds much the same, equally loud.")
	b.Shot("exercise-practise")
	b.Accessible("practising", "main")

	// What is drawn, and through what it goes.
	drawn := browser.Eval[map[string]float64](b.Tab, `(() => {
		const { practice } = JSON.parse(document.getElementById("exercise").textContent), count = {};
		for (let i = 0; i < 2100; i++) { const { shape } = practice.places[drawPlace(practice.places, () => (i + 0.5) / 2100)]; count[shape] = (count[shape] ?? 0) + 1 / 2100; }
		return count;
	})()`)
	for shape, share := range drawn {
		if math.Abs(share-1.0/3) > 0.01 {
			t.Errorf("%s comes up in %.2f of rounds", shape, share)
		}
	}
	through := browser.Eval[[]float64](b.Tab, `hiddenSection({ place: { shape: "high shelf" }, move: { hz: 3150 }, sign: -1, gainDB: 6 }, { slope: 0.7, bell_q: 1 }, 44100)`)
	want := biquad.ResponseDB(nil, []biquad.Filter{{Shape: biquad.HighShelf, FreqHz: 3150, GainDB: -6, Q: biquad.QFromSlope(0.7, -6)}}, []float64{100, 3150, 15000}, 44100)
	for i, hz := range []float64{100, 3150, 15000} {
		got := browser.Eval[float64](b.Tab, fmt.Sprintf(`responseDB([%s], %g, 44100)`, strings.ReplaceAll(fmt.Sprint(through), " ", ","), hz))
		if math.Abs(got-want[i]) > 1e-6 { // double precision
			t.Errorf("a high shelf at %g Hz: %.6f dB, want %.6f", hz, got, want[i])
		}
	}

	b.Click("#alone-play")
	b.Until(`liveExercise.alone.playing()`)
	b.Want("zones stop the practice", `liveExercise.trial.playing()`, "false")
	b.Text(`document.querySelector("#alone-zones input[value='lows']").click() || ""`)
	b.Want("a zone alone", `document.getElementById("alone-state").textContent`, "Playing the lows alone, 56 Hz to 178 Hz.")
	b.Shot("exercise-zones")
	b.Click("#trial-play")
	b.Until(`liveExercise.trial.playing()`)
	b.Want("practice stops the zones", `liveExercise.alone.playing()`, "false")
	b.Click("#play")
	b.Until(`liveExercise.state.playing`)
	b.Want("one sound at a time", `liveExercise.trial.playing()`, "false")

	// Listeners: logistic, 71 % right at the threshold and spread by 0.5 dB, at worst a guess: see practiceShare.
	found := browser.Eval[[]float64](b.Tab, `(() => {
		let seed = 1;
		const random = () => ((seed = (seed * 48271) % 2147483647) - 1) / 2147483646; // Park and Miller, 1988
		return [1, 2, 3, 4, 6, 8].map((threshold) => {
			let good = 0;
			for (let i = 0; i < 200; i++) {
				const s = newStaircase();
				for (let round = 0; round < 40; round++) {
					const p = 1 / (1 + Math.exp(-((1.702 / 0.5) * (s.gainDB - threshold) + 0.88)));
					s.answer(random() < Math.max(p, 1 / 14));
				}
				const t = s.threshold();
				if (t && Math.abs(t.dB - threshold) <= 1) good++;
			}
			return good / 200;
		});
	})()`)
	t.Logf("thresholds of 1, 2, 3, 4, 6 and 8 dB found within 1 dB: %.3f", found)
	for i, share := range found {
		if share < 0.9 {
			t.Errorf("threshold %d: %.2f are found within 1 dB", i, share)
		}
	}
}
