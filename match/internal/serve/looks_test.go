package serve

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"

	"toneplumb/match/internal/browser"
)

// The looks: pictures at three widths in light and dark for the eye, no line wider than
// the window, and nothing serious by axe-core.
func TestLooks(t *testing.T) {
	v := start(t)
	b := v.open()
	b.dropOn("eine-sehr-lange-bezeichnung_ohne_jedes_leerzeichen_die_irgendwann_umbrechen_muss_2026-11-26_final_FINAL_v12 (Mixdown) – Größe.wav",
		onDisk(t, sound(t, 24, 1, faults...)), "日本語 “reference” 2.wav", onDisk(t, sound(t, 24, 2)), "broken.mp3", onDisk(t, []byte("nothing")))
	b.Until(settled + ` && files[2].state === "failed"`)
	b.Want("what is said of a file that failed", `byId("files-failed").textContent`, "1 file is not usable.")
	b.set("#rows li:first-of-type [data-name=gain_db] input[type=text]", "-4")
	b.click("#keep-set")
	for _, look := range []struct{ name, how string }{
		{"folded", ``},
		{"open", `document.querySelectorAll("details").forEach((d) => (d.open = true)), openFiles(true), byId("listen-open").click()`},
		{"eight moves", `document.querySelectorAll("details").forEach((d) => (d.open = false)), openFiles(false), byId("listen-open").click(), change({ dialled: [...Array(6).keys()].map((i) => ({ shape: "bell", freq_hz: 90 * 2 ** i, gain_db: (-1) ** i * 2, width: 1, on: i !== 3, hand: true })).concat(["low-shelf", "high-shelf"].map((shape, i) => ({ shape, freq_hz: [80, 9000][i], gain_db: 1.5, width: 0.7, on: true, hand: true }))) })`},
		{"no moves", `change({ dialled: [] })`},
	} {
		if look.how != "" {
			b.Text(`(` + look.how + `, 0)`)
		}
		for _, paper := range []string{"light", "dark"} {
			for _, width := range []int64{1920, 1280, 360} {
				b.As(width, 800, paper)
				b.Until(settled + ` && Math.abs(document.querySelector("#chart svg").clientHeight - byId("chart").clientHeight) < 2`)
				name := fmt.Sprintf("match-%s-%d-%s", look.name, width, paper)
				b.Shot(name)
				b.Narrow(width)
				b.Accessible(name, "html")
			}
		}
		b.printed("match-" + look.name)
	}
	b.Quiet()
}

// printed keeps the page as it is printed on A4, where pictures are asked for.
func (b *tab) printed(name string) {
	b.T.Helper()
	if folder := os.Getenv("TONEPLUMB_SHOTS"); folder != "" {
		b.As(1280, 800, "light")
		if err := os.WriteFile(filepath.Join(folder, name+".pdf"), b.PDF(), 0o644); err != nil {
			b.T.Fatal(err)
		}
	}
}

// TestLooksOfViews is TestLooks for the other views: two looks of each, and all where pictures
// are asked for.
func TestLooksOfViews(t *testing.T) {
	v := start(t)
	b := v.open()
	pictures := os.Getenv("TONEPLUMB_SHOTS") != ""
	names := browser.Eval[[]string](b.Tab, `Object.keys(VIEWS)`)
	for i, name := range names { // with nothing in them
		b.Text(fmt.Sprintf(`(location.hash = "#%s", 0)`, name))
		b.Until(fmt.Sprintf(`view.name === %q`, name))
		for j := range 6 {
			if width, paper := []int64{360, 1280, 1920}[j%3], []string{"light", "dark"}[j%2]; pictures || j == i%6 {
				b.As(width, 800, paper)
				look := fmt.Sprintf("empty-%s-%d-%s", name, width, paper)
				b.Shot(look)
				b.Narrow(width)
				b.Accessible(look, "html")
			}
		}
	}
	b.Text(`(location.hash = "#match", 0)`)
	b.rough()
	const ugly = "über-große_Ärgernisse_de_l’été_où_Zoë_naïve_mixte_2026-11-30_final_FINAL_v12_(Mixdown)_ohne_jedes_Leerzeichen"
	b.dropAs("reference", ugly+" reference.wav", onDisk(t, sound(t, 24, 5)))
	b.dropAs("before", ugly+" before.wav", onDisk(t, sound(t, 24, 1)))
	b.dropAs("class", "anna.wav", onDisk(t, sound(t, 12, 1, faults...)))
	b.dropAs("class", ugly+" Łukasz.wav", onDisk(t, sound(t, 12, 4)), "one second.wav", onDisk(t, sound(t, 1, 4)), "broken.mp3", onDisk(t, []byte("nothing")))
	for name, raw := range prints(t, v) {
		b.dropAs("print", name, onDisk(t, raw))
	}
	b.dropAs("track", "bass.wav", onDisk(t, sound(t, 24, 1)))
	b.dropAs("track", ugly+" keys.wav", onDisk(t, sound(t, 24, 4)))
	b.dropAs("class", "exercise.answers.json", onDisk(t, lesson(t)), "anna.csv", onDisk(t, []byte("render,shape,freq_hz,gain_db,q\n1,bell,1000,4,1\n2,bell,250,3,1\n")), "ben.csv", onDisk(t, []byte("no sheet")))
	b.Until(`files.length === 14 && files.every(({ state }) => state === "ready" || state === "failed") && papers.length === 3`)
	for _, name := range names[1:] {
		b.click(fmt.Sprintf(`#views a[href="#%s"]`, name))
		b.Until(fmt.Sprintf(`view.name === %q`, name))
		if name == "marking" {
			b.Want("the places for papers", `[...document.querySelectorAll("[data-papers]")].map((box) => box.classList.contains("filled")).join()`, "true,false")
		}
		there := answered
		if name == "exercise" { // which takes long to be made
			there = "true"
			b.setField("#exercise-difficulty", "lesson")
			b.Want("the fields of a lesson", `byId("exercise-course").hidden`, "false")
		}
		for paper, widths := range map[string][]int64{"light": {360, 1280, 1920}, "dark": {1280, 1920, 360}} {
			for i, width := range widths {
				if i > 0 && !pictures {
					break
				}
				b.As(width, 800, paper)
				b.Until(there)
				if name == "tracks" {
					b.Until(`!byId("player").hidden`)
				}
				look := fmt.Sprintf("view-%s-%d-%s", name, width, paper)
				if pictures {
					b.Shot(look)
					if width == 1280 {
						b.opens(true)
						b.Shot(look + "-open")
						b.opens(false)
					}
				}
				b.Narrow(width)
				b.opens(true)
				b.Narrow(width)
				b.Accessible(look, "html")
				b.opens(false)
			}
		}
		b.printed("view-" + name)
	}
	b.Quiet()
}

// Headline, chart, moves and Play are inside 1280 by 800 without scrolling, with four moves
// and one set by hand; the answer is said. At 360 pixels a move is at most 120 high, and all of its reason can be read.
func TestOneWindow(t *testing.T) {
	v := start(t)
	b := v.open()
	b.As(1280, 800, "light")
	b.rough()
	b.Until(`byId("announce").textContent.startsWith("Measured. ") && byId("announce").textContent.endsWith(app.answer.headline)`)
	for range 4 {
		b.Text(`shownMoves().length < 4 && byId("add-move").click()`)
		b.Until(settled)
	}
	b.Want("moves", `document.querySelectorAll(".move").length`, "4")
	b.Until(`!byId("player").hidden && byId("other-stage").textContent !== ""`)
	b.Want("whether the other stage is said twice", `byId("findings").textContent.includes(byId("other-stage").textContent)`, "false")
	b.Want("where the window is", `scrollY < 10`, "true")
	bar := browser.Eval[float64](b.Tab, `byId("player").getBoundingClientRect().top`)
	for _, part := range []string{"#headline", "#chart", "#rows", ".move:last-child", ".above-rows a", "#other-stage", "#play", "#sources"} {
		box := browser.Eval[[]float64](b.Tab, fmt.Sprintf(`(({ top, bottom, left, right }) => [top, bottom, left, right])(document.querySelector(%q).getBoundingClientRect())`, part))
		end := bar
		if part == "#play" || part == "#sources" {
			end = 800
		}
		if box[0] < 0 || box[1] > end || box[2] < 0 || box[3] > 1280 || box[1]-box[0] < 10 {
			t.Errorf("%s is at %.0f to %.0f, %.0f to %.0f; the player begins at %.0f", part, box[0], box[1], box[2], box[3], bar)
		}
	}
	b.Shot("one-window")
	// What has come of eight moves, and the way to the files, are there too.
	for range 4 {
		b.Text(`byId("add-move").click()`)
		b.Until(settled)
	}
	b.Want("moves", `document.querySelectorAll(".move").length`, "8")
	b.inside(".totals", ".above-rows a", ".move")
	b.As(360, 740, "light")
	b.Until(settled)
	// Lines have parts of a pixel, which engines round apart.
	b.Want("what is cut off the reasons", `rows.filter(({ reason: { parentElement: e } }) => e.scrollWidth > e.clientWidth || e.scrollHeight > e.clientHeight + 1).length`, "0")
	// Of the longest reason there is (words.Why) a touch, or a move in use, shows what two lines do not.
	b.Text(`(document.activeElement.blur(), rows.forEach(({ reason, mark }) => { mark.textContent = "Set by hand. "; reason.textContent = "gives back 12.5 dB that the other moves take around 12.5 kHz; all moves together: −10.5 dB there"; }), 0)`)
	const sizes = `rows.map(({ body, reason: { parentElement: e } }) => [body.getBoundingClientRect().height, e.scrollHeight - e.clientHeight])`
	for _, size := range browser.Eval[[][]float64](b.Tab, sizes) {
		if size[0] > 120 {
			t.Errorf("at 360 pixels a move is %.0f high", size[0])
		}
	}
	b.Text(`(rows.forEach(({ reason }) => reason.click()), 0)`)
	for _, size := range browser.Eval[[][]float64](b.Tab, sizes) {
		if size[1] > 1 {
			t.Errorf("of a reason %.0f pixels are out of sight", size[1])
		}
	}
	b.Shot("longest-reason-360")
	b.Narrow(360)
	b.Quiet()
}

// From the top of the page Play is reached within twelve tab stops, and all of the page by
// keys alone.
func TestTabStops(t *testing.T) {
	v := start(t)
	b := v.open()
	b.rough()
	b.Until(`!byId("player").hidden`)
	browser.Eval[bool](b.Tab, `(document.activeElement.blur(), scrollTo(0, 0), true)`)
	stops := 0
	for b.Text(`document.activeElement.id`) != "play" {
		if stops++; stops > 12 {
			t.Fatal("Play is not within twelve stops")
		}
		b.Press("\t")
	}
	t.Logf("Play is stop %d", stops)
	seen := map[string]bool{}
	for range 120 {
		b.Press("\t")
		seen[b.Text(`(document.activeElement.id || document.activeElement.getAttribute("aria-label") || document.activeElement.textContent)`)] = true
	}
	for _, want := range []string{"chart", "key-difference", "zoom-db", "zoom-zone", "Move 1: gain in decibels", "Move 1: gain in decibels, slider", "Move 1: shape", "Remove move 1", "keep-set", "add-move", "stage", "toward", "keep-work", "change-files", "volume", "listen-open"} {
		if !seen[want] {
			t.Errorf("%q is not reached by tab", want)
		}
	}
	// The chart is read by the arrow keys.
	browser.Eval[bool](b.Tab, `(byId("chart").focus(), true)`)
	first := b.textOf("readout")
	b.Text(`byId("chart").dispatchEvent(new KeyboardEvent("keydown", { key: "ArrowRight", bubbles: true }))`)
	if second := b.textOf("readout"); first == second || b.Text(`byId("chart").getAttribute("aria-valuetext")`) != second {
		t.Errorf("the arrow key reads %q after %q", second, first)
	}
	b.Quiet()
}

// The curves of moves that the browser draws are those of the server, for each way in which
// an equaliser's dials may be stated.
func TestCurvesInTheBrowser(t *testing.T) {
	const nearDB = 0.02 // half of what a line's width shows; the level is the unsmoothed mean here
	v := start(t)
	b := v.open()
	b.rough()
	for _, equaliser := range []string{
		`null`,
		`{"version": 1, "name": "a", "shapes": [{"shape": "bell", "count": 4, "width": {"min": 0.3, "max": 4}, "width_is": "oct"}, {"shape": "low-shelf", "width": {"min": 1, "max": 12}, "width_is": "db-per-oct", "freq_is": "corner"}, {"shape": "high-shelf", "freq_hz": {"min": 1000, "max": 10000}, "width": {"min": 0.3, "max": 0.7}, "width_is": "q", "freq_is": "corner"}]}`,
		`{"version": 1, "name": "b", "shapes": [{"shape": "bell", "count": 4, "width": {"min": 0.3, "max": 4}, "width_is": "oct-3db"}, {"shape": "high-shelf"}]}`,
	} {
		b.Text(`change({ dialled: null, equaliser: ` + equaliser + ` })`)
		b.Until(settled)
		b.Text(`change({ dialled: app.answer.dials.map(({ shape, freq_hz, gain_db, width }, i) => ({ shape, freq_hz: nearestOn(freq_hz, 90 * 5 ** i), gain_db: nearestOn(gain_db, i % 2 ? 5 : -4), width: startWidth({ shape, width }), on: true })) })`)
		b.Until(settled)
		apart := browser.Eval[float64](b.Tab, `(() => { const d = app.answer.curves.fitted_db.map((db, i) => (db === null ? null : db - chart.sum[i])).filter((x) => x !== null); return Math.max(...d) - Math.min(...d); })()`)
		if apart > nearDB || math.IsNaN(apart) {
			t.Errorf("%.60s: the curves are up to %.3f dB apart", equaliser, apart)
		}
	}
	b.Quiet()
}

// A slider moves chart and field while it is dragged, makes one step of undo, and is
// confirmed by the server; the row's curve stands out.
func TestSlider(t *testing.T) {
	v := start(t)
	b := v.open()
	b.rough()
	b.Until(`heard !== null && !byId("player").hidden`)
	before := b.Text(`JSON.stringify(shownMoves())`)
	const loudness = `heard.transport.player.sources.find((s) => s.through_moves).loudness_lufs.at(-1)`
	const slider = `document.querySelector("#rows li:first-of-type [data-name=gain_db] input[type=range]")`
	paths := map[string]bool{}
	for i := range 5 {
		b.Text(fmt.Sprintf(`(() => { const s = %s; s.value = Number(s.max) - %d; s.dispatchEvent(new Event("input")); })()`, slider, i))
		paths[b.Text(`document.querySelector("#curve-all path").getAttribute("d")`)] = true
	}
	if len(paths) != 5 || b.Text(`app.past.length`) != "0" {
		t.Errorf("%d curves of five places of the slider, and %s steps of undo before it is let go", len(paths), b.Text(`app.past.length`))
	}
	b.Until(`preview.timer === null && heard.transport.player.moves[0].label === "1"`) // as the browser has the last place
	predicted := browser.Eval[float64](b.Tab, loudness)
	b.Text(slider + `.dispatchEvent(new Event("change"))`)
	b.Until(settled + ` && heard.transport.player.moves[0].label !== "1"`)
	const nearLU = 0.3 // the browser weighs the bands of all that counts, the server those of the excerpt, gated
	if confirmed := browser.Eval[float64](b.Tab, loudness); math.Abs(confirmed-predicted) > nearLU {
		t.Errorf("while it is dragged it is played as if at %.2f LUFS; the server says %.2f", predicted, confirmed)
	}
	b.Want("what the server has", `app.answer.rows[0].gain_db + " " + app.answer.curves.fitted_db.every((db, i) => db === null || Math.abs(db - chart.sum[i]) < 0.1)`, "4 true")
	b.Want("steps of undo", `app.past.length`, "1")
	b.Want("marks", `[...document.querySelectorAll(".move .mark")].map((e) => e.textContent).join("|")`, "Set by hand, outside the likely range. "+b.Text(`"|".repeat(shownMoves().length - 1)`))
	b.click("#undo")
	b.Until(settled)
	b.Want("after undo", `JSON.stringify(shownMoves())`, before)
	b.Text(`document.querySelector("#rows li:nth-of-type(2)").dispatchEvent(new PointerEvent("pointerenter"))`)
	b.Want("the row's curve stands out", `[...document.querySelectorAll("#curve-each path")].map((p) => p.classList.contains("hot")).join()`, b.Text(`shownMoves().map((_, i) => i === 1).join()`))
	b.Quiet()
}
