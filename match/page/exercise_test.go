package page

import (
	"bytes"
	"context"
	"encoding/base64"
	"errors"
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"toneplumb/biquad"
	"toneplumb/match/internal/chromium"
	"toneplumb/match/training"
	"toneplumb/spectrum/quick"
)

// exerciseMix is some seconds of noise in phrases, of two channels that differ.
func exerciseMix(t testing.TB, sec float64) *training.Excerpt {
	t.Helper()
	const rate = 44100
	x := [][]float64{make([]float64, int(sec*rate)), make([]float64, int(sec*rate))}
	state, low := uint64(1), [2]float64{}
	for i := range x[0] {
		phrase := 0.02 + 0.2*math.Abs(math.Sin(2*math.Pi*float64(i)/rate/1.7))
		for c := range x {
			state = state*6364136223846793005 + 1442695040888963407
			low[c] += 0.1 * (float64(int64(state))/(1<<63) - low[c])
			x[c][i] = phrase * (low[c] + 0.2*float64(int64(state))/(1<<63))
		}
	}
	return &training.Excerpt{RateHz: rate, FromSec: 12, Sound: x}
}

func exerciseOf(t testing.TB, e *training.Excerpt, n int, difficulty training.Difficulty, seed uint64) (html []byte, sec float64) {
	t.Helper()
	var out bytes.Buffer
	a := exerciseAnswers(t, e, n, difficulty, seed)
	sec, err := WriteExercise(context.Background(), &out, e, a, a.Mix)
	if err != nil {
		t.Fatal(err)
	}
	return out.Bytes(), sec
}

func exerciseAnswers(t testing.TB, e *training.Excerpt, n int, difficulty training.Difficulty, seed uint64) *training.Answers {
	t.Helper()
	tasks, err := training.DrawTasks(n, training.Draw{Rules: difficulty.Rules(), Seed: seed}, e.Hearing())
	if err != nil {
		t.Fatal(err)
	}
	return &training.Answers{Mix: "a <mix> & more.wav", Rules: difficulty.Rules(), Seed: seed, RateHz: e.RateHz, Tasks: tasks}
}

var soundElement = regexp.MustCompile(`(?s)<script type="text/plain" id="(sound-[0-9]+)">([^<]*)</script>`)

// What is hidden cannot be told from the page: two that hide other moves under another
// number are the same text but for the sounds. Of a page's sounds the names count up, the
// lengths are one, in letters and in frames, and the files hold blocks of format and
// padding alone. The same exercise is the same bytes.
func TestExerciseTellsNothing(t *testing.T) {
	quick.Skip(t, "renders exercises")
	e := exerciseMix(t, 2)
	one, _ := exerciseOf(t, e, 6, training.Hard, 1)
	two, _ := exerciseOf(t, e, 6, training.Hard, 98765)
	again, _ := exerciseOf(t, e, 6, training.Hard, 1)
	if !bytes.Equal(one, again) {
		t.Error("the same exercise is other bytes")
	}
	bare := func(html []byte) string { return string(soundElement.ReplaceAll(html, []byte("$1"))) }
	if bare(one) != bare(two) {
		t.Error("pages that hide other moves differ beside their sounds")
	}
	for _, word := range []string{"98765", "seed", "gain_db\":", "freq_hz\":"} {
		if strings.Contains(bare(two), word) {
			t.Errorf("%q stands in the page", word)
		}
	}
	found := soundElement.FindAllSubmatch(one, -1)
	if len(found) != 7 {
		t.Fatalf("%d sounds", len(found))
	}
	for i, f := range found {
		if id := fmt.Sprintf("sound-%02d", i); string(f[1]) != id || len(f[2]) != len(found[0][2]) {
			t.Errorf("sound %d is %s and %d letters long, the plain one %d", i, f[1], len(f[2]), len(found[0][2]))
		}
		raw, err := base64.StdEncoding.DecodeString(string(f[2]))
		if err != nil {
			t.Fatal(err)
		}
		// RFC 9639, section 8.1: 7 bits of type, 24 of length; STREAMINFO is 0, PADDING 1.
		// Bytes 4 to 9 of STREAMINFO are the least and largest frame, 0 for not told.
		if raw[4] != 0 || raw[4+4+34] != 0x80|1 || !bytes.Equal(raw[12:18], make([]byte, 6)) {
			t.Errorf("sound %d: blocks %x and %x, frames of %x", i, raw[4], raw[42], raw[12:18])
		}
	}
}

// All sounds are equally loud as they are stored and of one length, the moves are in
// them, and a page that would be too large is shortened or refused.
func TestExerciseSounds(t *testing.T) {
	quick.Skip(t, "renders exercises")
	const toleranceLU = 0.05 // dither and 16 bits
	e := exerciseMix(t, 5)
	html, sec := exerciseOf(t, e, 3, training.Easy, 4)
	if sec != 5 {
		t.Errorf("%g s are heard", sec)
	}
	plain, rate := stored(t, html, "sound-00")
	for i := 1; i <= 3; i++ {
		x, _ := stored(t, html, fmt.Sprintf("sound-%02d", i))
		if d := loudnessOf(x, rate) - loudnessOf(plain, rate); math.Abs(d) > toleranceLU || len(x[0]) != len(plain[0]) {
			t.Errorf("render %d: %+.3f LU beside plain, %d frames and %d", i, d, len(x[0]), len(plain[0]))
		}
		if db := apartDB(x, plain, 0, len(plain[0])); db < -30 {
			t.Errorf("render %d is the plain one: %.0f dB apart", i, db)
		}
	}
	long, sec := exerciseOf(t, exerciseMix(t, 10), 12, training.Easy, 1)
	t.Logf("12 renders of 10 s: %.1f s are heard, %.1f MB", sec, float64(len(long))/1e6)
	if len(long) > MaxBytes || float64(len(long)) < 0.8*MaxBytes || sec < 4 {
		t.Errorf("a page of %d bytes, %.1f s", len(long), sec)
	}
	a := exerciseAnswers(t, exerciseMix(t, 4), 90, training.Easy, 1)
	if _, err := WriteExercise(context.Background(), &bytes.Buffer{}, exerciseMix(t, 10), a, a.Mix); !errors.Is(err, ErrTooMuch) {
		t.Errorf("90 renders: %v", err)
	}
	if _, err := WriteExercise(context.Background(), &bytes.Buffer{}, &training.Excerpt{RateHz: 44100, Sound: [][]float64{make([]float64, 200000)}}, a, a.Mix); !errors.Is(err, training.ErrSilent) {
		t.Errorf("silence: %v", err)
	}
}

// Practising: rounds are answered at once, the change follows the answers, what sounds the same is
// right, what is heard is the filter that tasks go through, zones are heard alone, and listeners of
// known thresholds are found within 1 dB in 40 rounds, nine of ten times at least.
func TestExercisePractice(t *testing.T) {
	quick.Skip(t, "drives a browser")
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
	b.Press(kb.Enter) // Next has the focus
	b.Want("the next", trialText, "Hear it, then say which shape, where, and which way.")
	b.Text(`(` + hide + `)("bell", "mids", -1) || ""`)
	answer("bell", "mids", true)
	b.Want("wrong way", trialText, "Not this time: it was a bell at 1 kHz in the mids, −8 dB. Right of it: the shape and the zone; not the way.")
	b.Want("larger", `liveExercise.trial.stairs.gainDB`, "10")
	b.Press(kb.Enter)
	b.Text(`(` + hide + `)("high shelf", "mids", 1) || ""`)
	answer("low shelf", "mids", false)
	b.Want("turned over", trialText, "Right: it was a high shelf at 1 kHz in the mids, +10 dB. Your answer sounds much the same, equally loud.")
	b.Shot("exercise-practise")
	b.Accessible("practising", "main")

	// What is drawn, and through what it goes.
	drawn := chromium.Eval[map[string]float64](b.Tab, `(() => {
		const { practice } = JSON.parse(document.getElementById("exercise").textContent), count = {};
		for (let i = 0; i < 2100; i++) { const { shape } = practice.places[drawPlace(practice.places, () => (i + 0.5) / 2100)]; count[shape] = (count[shape] ?? 0) + 1 / 2100; }
		return count;
	})()`)
	for shape, share := range drawn {
		if math.Abs(share-1.0/3) > 0.01 {
			t.Errorf("%s comes up in %.2f of rounds", shape, share)
		}
	}
	through := chromium.Eval[[]float64](b.Tab, `hiddenSection({ place: { shape: "high shelf" }, move: { hz: 3150 }, sign: -1, gainDB: 6 }, { slope: 0.7, bell_q: 1 }, 44100)`)
	want := biquad.ResponseDB(nil, []biquad.Filter{{Shape: biquad.HighShelf, FreqHz: 3150, GainDB: -6, Q: biquad.QFromSlope(0.7, -6)}}, []float64{100, 3150, 15000}, 44100)
	for i, hz := range []float64{100, 3150, 15000} {
		got := chromium.Eval[float64](b.Tab, fmt.Sprintf(`responseDB([%s], %g, 44100)`, strings.ReplaceAll(fmt.Sprint(through), " ", ","), hz))
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
	found := chromium.Eval[[]float64](b.Tab, `(() => {
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

// The page in a browser: it starts quiet, plays what is chosen by pointer and keys, and
// writes the sheet as the marking reads it; it fits a telephone and asks for nothing.
func TestExercisePage(t *testing.T) {
	quick.Skip(t, "drives a browser")
	html, _ := exerciseOf(t, exerciseMix(t, 4), 3, training.Medium, 4)
	b := openPage(t, html)
	b.Want("title", `document.querySelector("title").textContent`, "Ear training: a <mix> & more.wav")
	b.Want("volume", `document.getElementById("volume").value`, "-20")
	b.Want("no sound before it is wanted", `liveExercise.graph()`, "null")
	b.Want("care", `/80 dB\(A\)/.test(document.querySelector(".care").textContent)`, "true")
	b.Want("choices", sourceWords, "plain|render 1|render 2|render 3")
	b.Want("state", stateText, "Stopped. Plain is chosen.")
	b.Press(kb.ArrowRight)
	b.Want("from plain to the right", stateText, "Stopped. Render 1 is chosen.")
	b.Press("p")
	b.Want("plain again", stateText, "Stopped. Plain is chosen.")
	b.Press("p")
	b.Want("after p", stateText, "Stopped. Render 1 is chosen.")
	b.Press(kb.ArrowRight + kb.ArrowRight)
	b.Want("after two to the right", stateText, "Stopped. Render 3 is chosen.")
	b.Press(kb.ArrowRight)
	b.Want("it ends there", heardIndex, "3")
	b.Press(" ")
	b.Until(stateText + ` === "Playing render 3."`)
	b.Until(`liveExercise.position() > 0.3`)
	b.Press("p")
	b.Want("the plain one plays on", stateText, "Playing plain.")
	b.Want("at the same place", `liveExercise.position() > 0.3`, "true")
	b.Click("#keys")
	b.Press("p" + kb.ArrowLeft)
	b.Want("keys are off", stateText, "Playing plain.")
	b.Click("#keys")
	b.Press("p")
	b.Want("and back", stateText, "Playing render 3.")
	b.Click("#play")
	b.Until(stateText + ` === "Stopped. Render 3 is chosen."`)
	b.Press(kb.ArrowLeft)
	b.Want("left, from a button", heardIndex, "2")

	// What is heard is the sound of the page, at the level it has.
	gains := chromium.Eval[[]float64](b.Tab, `(async () => {
		const player = JSON.parse(document.getElementById("exercise").textContent).player;
		const power = async (i) => {
			const ctx = new OfflineAudioContext(2, 3 * 44100, 44100);
			const buffers = await loadSounds(ctx, player, bytesIn);
			const g = buildGraph(ctx, player, buffers);
			g.choose(i, 0); g.out.connect(ctx.destination); g.start(0, 0, 0, g.seconds);
			const x = (await ctx.startRendering()).getChannelData(0).slice(44100), y = buffers[player.sources[i].sound].getChannelData(0).slice(44100, 3 * 44100);
			let apart = 0, of = 0;
			x.forEach((v, k) => { apart += (v - y[k]) ** 2; of += y[k] ** 2; });
			return 10 * Math.log10(apart / of + 1e-15);
		};
		return [await power(0), await power(2)];
	})()`)
	for i, db := range gains {
		if !(db < throughDB) {
			t.Errorf("sound %d is played %.0f dB beside what is stored, want < %d", i, db, throughDB)
		}
	}

	// The sheet, with what people write.
	b.Text(`(() => { const cells = document.querySelectorAll("[data-render='2'] .answer:first-of-type select, [data-render='2'] .answer:first-of-type input");
		["low-shelf", "1,2k", "−2.5", ""].forEach((v, i) => { cells[i].value = v; cells[i].dispatchEvent(new Event("input", { bubbles: true })); }); })()`)
	b.Do(chromedp.Focus(chromedp.CSS("[data-render='3'] .hz")), chromedp.KeyEvent("4x 5 "))
	b.Want("keys in a cell are the cell's", `document.querySelector("[data-render='3'] .hz").value + "|" + `+heardIndex, "4x 5 |2")
	b.Text(`document.querySelector("[data-render='3'] .hz").value = ""`)
	text := b.Text(`sheetText(document.getElementById("sheet"))`)
	if want := "render,shape,freq_hz,gain_db,q\n1,,,,\n2,\"low-shelf\",\"1,2k\",\"−2.5\",\n3,,,,\n"; text != want {
		t.Errorf("sheet %q, want %q", text, want)
	}
	heard, err := training.ReadSheet(strings.NewReader(text), 3)
	if err != nil || len(heard[1]) != 1 || heard[1][0].FreqHz != 1200 || heard[1][0].GainDB != -2.5 {
		t.Errorf("marked as %v, %v", heard, err)
	}
	b.Want("file name", `fileNameOf(" ../Anna B./x")`, "Anna B.x.csv")
	b.Want("no name", `fileNameOf("…")`, "sheet.csv")
	b.Click("#save")
	b.Until(`/^Saved as sheet\.csv/.test(document.getElementById("saved").textContent)`)

	for _, width := range []int64{390, 320, 1200} {
		b.As(width, 844, "light")
		b.Narrow(width)
		b.Shot(fmt.Sprintf("exercise-%d", width))
	}
	b.quiet()
}
