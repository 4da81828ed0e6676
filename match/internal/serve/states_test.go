package serve

import (
	"bytes"
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"toneplumb/match/internal/browser"
	"toneplumb/spectrum/testkit"
)

// Numbers and times as people type them.
func TestNumberReader(t *testing.T) {
	v := start(t)
	b := v.open()
	for typed, want := range map[string]string{
		"2.5": "2.5", "2,5": "2.5", "−2.5": "-2.5", "-2,5": "-2.5", "+3 dB": "3", ".5": "0.5", "5.": "5", " 60 % ": "60",
		"1.2k": "1200", "3,55 kHz": "3550", "106 Hz": "106", "1,250k": "1250", "0,125": "0.125",
		"1,000": "NaN", "": "NaN", "abc": "NaN", "1e3": "NaN", "1.2.3": "NaN", "--2": "NaN", "Infinity": "NaN", "0x10": "NaN", "5 V": "NaN",
	} {
		b.Want("the number "+typed, fmt.Sprintf("readNumber(%q)", typed), want)
	}
	for typed, want := range map[string]string{"1:23": "83", "0:07,5": "7.5", "1:02:03": "3723", "45": "45", "1:60": "NaN", "1:75:00": "NaN", "x": "NaN"} {
		b.Want("the time "+typed, fmt.Sprintf("readTime(%q)", typed), want)
	}
	for typed, want := range map[string]string{
		"0:45-1:30, 10-20": `{"parts":[[10,20],[45,90]]}`, "0-10, 5-20": `{"parts":[[0,20]]}`, "": `{"parts":null}`, "90-200": `{"parts":[[90,100]]}`,
	} {
		b.Want("the parts "+typed, fmt.Sprintf("JSON.stringify(readParts(%q, 100))", typed), want)
	}
	for _, typed := range []string{"20-10", "x", "1-2", "150-200", "10-20-30"} {
		b.Want("the parts "+typed, fmt.Sprintf("Boolean(readParts(%q, 100).wrong)", typed), "true")
	}
	b.Quiet()
}

// What a field cannot take is said at the field, and the last good value returns; what the
// equaliser does not have snaps to the nearest it has.
func TestFields(t *testing.T) {
	v := start(t)
	b := v.open()
	b.rough()
	gain := `#rows li:first-of-type [data-name=gain_db] input[type=text]`
	freq := `#rows li:first-of-type [data-name=freq_hz] input[type=text]`
	state := func(selector string) string {
		return b.Text(fmt.Sprintf(`((f) => [f.value, f.getAttribute("aria-invalid"), byId(f.getAttribute("aria-describedby")).textContent].join("|"))(document.querySelector(%q))`, selector))
	}
	for _, field := range []struct{ selector, typed, want string }{
		{gain, "9", "6.0||At most 6.0 dB: the common equaliser ends there."},
		{gain, "-9", "−6.0||At least −6.0 dB: the common equaliser ends there."},
		{freq, "1.01k", "1000||Nearest this equaliser has: 1000 Hz."},
		{freq, "1,000", "1000|true|“1,000” may be 1000 or 1: write it without the comma."},
		{freq, "2 k", "2000||"},
		{gain, "-4", "−4.0||"},
		{"#toward", "loud", "60|true|“loud” is no number."},
		{"#toward", "55,5", "55.5||"},
		{"#range-low", "15", "40|true|It goes from 20 to 8000 Hz."},
		{"#max-moves", "2.6", "3||Rounded to whole moves."},
	} {
		b.set(field.selector, field.typed)
		if got := state(field.selector); got != field.want {
			t.Errorf("%s with %q: %q, want %q", field.selector, field.typed, got, field.want)
		}
	}
	b.set("#range-low", "50")
	b.Until(settled + ` && app.answer.curves.freq_hz[app.answer.curves.judged.indexOf(true)] > 49`)
	const judged = `["#range-low", "#range-high"].map((at) => byId(document.querySelector(at).getAttribute("aria-describedby")).textContent).join("|")`
	b.Want("where all of the range is judged", judged, "|")
	b.Text(`(showJudged({ ...app.answer.curves, judged: app.answer.curves.judged.map((is, i) => is && app.answer.curves.freq_hz[i] > 80 && app.answer.curves.freq_hz[i] < 9e3) }), 0)`)
	b.Want("where less than the range is judged", judged, "judged from 79.4 Hz|judged to 8.91 kHz")
	b.Quiet()
}

// Roles live on the server: choosing another mix swaps the two once it is measured, a reload
// keeps them, also while measuring, and what is missing is said.
func TestReloadKeepsRoles(t *testing.T) {
	v := start(t)
	b := v.open()
	for range cap(v.server.uploads.free.places) { // no place to measure
		v.server.uploads.free.places <- struct{}{}
	}
	b.dropOn("a.wav", onDisk(t, sound(t, 24, 1, faults...)))
	b.Until(`files.length === 1 && files[0].state === "waiting"`)
	b.Want("what is next", `byId("next-step").textContent`, "Now choose a reference.")
	b.dropOn("b.wav", onDisk(t, sound(t, 24, 2)))
	b.Until(`files.length === 2 && files.every(({ state }) => state === "waiting")`)
	b.Want("what is next", `byId("next-step").textContent`, "")
	b.Text(`(files[1].choice.value = "mix", files[1].choice.dispatchEvent(new Event("change")))`)
	const roles, waits = `files.map(({ name, role, next }) => [name, role, next].join(" ")).sort().join()`, "a.wav mix ,b.wav reference mix"
	b.Want("roles after a choice", roles, waits)
	browser.Eval[bool](b.Tab, `(async () => {
		for (;;) {
			const { recordings } = await request("GET", "history");
			if (recordings.map(({ name, role, next }) => [name, role, next].join(" ")).sort().join() === "a.wav mix ,b.wav reference mix") return true;
		}
	})()`)
	b.Reload()
	b.Until(`typeof files === "object" && files.length === 2 && files.every(({ state }) => state === "waiting")`)
	b.Want("roles after a reload", roles, waits)
	for range cap(v.server.uploads.free.places) {
		<-v.server.uploads.free.places
	}
	b.Until(`fileOf(app.mix)?.name === "b.wav" && ` + settled)
	b.Want("what is compared", `byId("files-summary").textContent`, "mix b.wav · reference a.wav")
	b.Quiet()
}

// A second browser at the printed address, and an address that does not exist, get pages
// that explain; a new address lets another browser in.
func TestSecondBrowser(t *testing.T) {
	v := enter(t)
	jar, _ := cookiejar.New(nil)
	other := &http.Client{Jar: jar}
	defer other.CloseIdleConnections()
	get := func(address string) (int, string) {
		request, _ := http.NewRequest("GET", address, nil)
		request.Header.Set("Sec-Fetch-Mode", "navigate")
		response, err := other.Do(request)
		if err != nil {
			t.Fatal(err)
		}
		defer response.Body.Close()
		body, _ := io.ReadAll(response.Body)
		if kind := response.Header.Get("Content-Type"); !strings.HasPrefix(kind, "text/html") || !strings.Contains(response.Header.Get("Content-Security-Policy"), "default-src 'none'") {
			t.Errorf("%s is answered with %q", address, kind)
		}
		return response.StatusCode, string(body)
	}
	used := v.server.URL()
	for _, address := range []string{used, v.home + "/"} {
		if code, body := get(address); code != http.StatusForbidden || !strings.Contains(body, "press Enter in the terminal") || strings.Contains(body, v.server.guard.session) {
			t.Errorf("%s is answered with %d, %.80q", address, code, body)
		}
	}
	fresh := v.server.NewURL()
	if fresh == used {
		t.Fatal("the new address is the old one")
	}
	if code, body := get(fresh); code != http.StatusOK || !strings.Contains(body, "<main") {
		t.Errorf("the new address is answered with %d, %.80q", code, body)
	}
	if code, _ := get(v.home + "/nothing"); code != http.StatusNotFound {
		t.Errorf("an address that does not exist is answered with %d", code)
	}
	third := &http.Client{}
	defer third.CloseIdleConnections()
	refused(t, third, fresh)
}

// Sets are switched by ear, blind trials end in a statement, a zone is heard alone, and the
// excerpt starts where it was chosen.
func TestListening(t *testing.T) {
	v := start(t)
	b := v.open()
	b.rough()
	for votes, want := range map[string]string{
		"[2, 6]": "moves preferred 6 of 8; chance gives that or more 1 time in 7.", // 37 of 256 orders: binomial, by hand
		"[8, 0]": "mix preferred 8 of 8; chance gives that or more 1 time in 256.",
		"[4, 4]": "Neither is preferred: 4 of 8 each.", "[0, 0]": "No vote was given.",
		"[0, 1]": "moves preferred 1 of 1; chance gives that or more 1 time in 2.",
	} {
		b.Want("votes "+votes, `verdictOf(["mix", "moves"], `+votes+`)`, want)
	}
	b.Until(`heard !== null && !byId("player").hidden`)
	browser.Eval[bool](b.Tab, `heard.transport.setVolume(-60) ?? true`)
	b.Click("#listen-open")
	b.Click("#trial-start")
	b.Until(`heard.transport.playing`)
	b.Want("what is compared", `byId("trial-pair").selectedOptions[0].text`, "mix and mix through the moves")
	b.Want("names in the choices", `[...document.querySelectorAll("#sources .choices span")].map((e) => e.textContent).join()`, "A,B")
	b.click("#trial-second")
	b.Want("with one heard", `byId("trial-state").textContent`, "Trial 1 of 8: not counted. Hear both A and B first.")
	for range 8 {
		b.click("#sources label:first-child input")
		b.click("#sources label:last-child input")
		b.click("#trial-second")
	}
	if got := b.textOf("trial-state"); !strings.Contains(got, "of 8") {
		t.Errorf("the trials end with %q", got)
	}
	b.Want("names again", `document.querySelectorAll("#sources .choices input").length`, "3")

	b.set("#rows li:first-of-type [data-name=gain_db] input[type=text]", "2")
	b.click("#keep-set")
	b.click("#sets button:first-child")
	b.Until(settled)
	b.Want("advised", `app.fields.dialled`, "null")
	b.click("#sets .kept-set .set")
	b.Until(settled)
	b.Want("kept", `shownMoves()[0].gain_db`, "2")

	b.Text(`(byId("zoom-zone").value = "mids", byId("zoom-zone").dispatchEvent(new Event("change")), byId("solo").click())`)
	b.Until(`heard.transport.playing`)
	b.Want("another excerpt is chosen where one listens", `byId("listen").contains(byId("mix-hear")) && byId("listen").contains(byId("ref-hear"))`, "true")
	b.set("#mix-hear", "0:05")
	b.Until(`heard.transport.player.sources[0].from_s === 5`)
	b.Quiet()
}

// The work is kept as a file without sound, and taken up again with its recordings.
func TestKeptWork(t *testing.T) {
	v := start(t)
	b := v.open()
	b.rough()
	b.set("#toward", "80")
	b.set("#rows li:first-of-type [data-name=gain_db] input[type=text]", "2")
	b.click("#keep-set")
	b.Text(`(change({ plain: true }), 0)`)
	b.Until(settled)
	shown := b.Text(`JSON.stringify([shownMoves(), app.fields.toward_percent, app.fields.plain, keptSets.length])`)
	const leaving = `dispatchEvent(new Event("beforeunload", { cancelable: true }))`
	b.Want("leaving with moves set by hand goes without a question", leaving, "false")
	b.click("#keep-work")
	b.Want("leaving once they are kept goes without a question", leaving, "true")
	work := b.downloaded("rough mix work.json")
	if len(work) > 20000 || !bytes.Contains(work, []byte(`"sha256"`)) {
		t.Errorf("the work has %d bytes: %.100q", len(work), work)
	}
	again := start(t).open()
	again.dropOn("work.json", onDisk(t, work))
	again.Until(`byId("work-words").textContent.includes("rough mix.wav”, “reference.wav")`)
	again.dropOn("one.wav", onDisk(t, sound(t, 24, 2)), "two.wav", onDisk(t, sound(t, 24, 1, faults...)))
	again.Until(settled + ` && app.fields.toward_percent === 80`)
	again.Until(settled)
	again.Want("the work", `JSON.stringify([shownMoves(), app.fields.toward_percent, app.fields.plain, keptSets.length])`, shown)
	again.Want("roles", `byId("files-summary").textContent`, "mix two.wav · reference one.wav")
	again.Quiet()
	b.Quiet()
}

// dimmed is how the figures and the sentence above them look.
const dimmed = `getComputedStyle(document.querySelector(".totals")).opacity + " " + getComputedStyle(byId("headline")).opacity`

// A server that is lost is said, what it has not confirmed is dimmed, and the page goes on by itself.
func TestLostServer(t *testing.T) {
	v := start(t)
	b := v.open()
	b.rough()
	b.Text(`(window.realFetch = fetch, window.fetch = () => Promise.reject(new TypeError("gone")), change({ toward_percent: 70 }))`)
	b.Until(`!byId("lost").hidden`)
	b.Want("what is not confirmed", dimmed, "0.7 0.7")
	b.Text(`(window.fetch = realFetch, 0)`)
	b.Until(`byId("lost").hidden && ` + settled)
	b.Want("what is asked for", `app.fields.toward_percent + " " + app.answer.curves.target`, "70 target, 70 % of what is clearly tonal")
	b.Want("what is confirmed", dimmed, "1 1")
	b.Quiet()
}

// Print shows what there is to read, on white paper from a dark screen too.
func TestPrint(t *testing.T) {
	testkit.Skip(t, "drives a browser")
	if browser.Engine() == "webkit" {
		t.Skip("the driver of WebKit does not print")
	}
	testkit.Tool(t, "pdftotext")
	v := start(t)
	b := v.open()
	b.rough()
	b.As(1280, 800, "dark")
	if browser.Engine() == "chromium" { // the others stay on light paper
		b.Want("the mix on a dark screen", mixColour, "rgb(240, 239, 235)")
	}
	pdf := filepath.Join(browser.Shots(t), "served.pdf")
	if err := os.WriteFile(pdf, b.PDF(), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("pdftotext", "-layout", pdf, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"Tone of the mix", "dB from", "bell", "trim", "NIOSH", "How to dial", "rough mix.wav"} {
		if !strings.Contains(string(out), want) {
			t.Errorf("not printed: %q", want)
		}
	}
	for _, never := range []string{"Loop, trials", "volume", "Keep this set", "Choose the mix", "Take away"} {
		if strings.Contains(string(out), never) {
			t.Errorf("printed: %q", never)
		}
	}
	b.As(1280, 800, "print dark")
	b.Until(mixColour + ` === "rgb(0, 0, 0)"`)
	b.Quiet()
}

const mixColour = `getComputedStyle(document.querySelector("#curve-mix")).stroke`
