package page

import (
	"bytes"
	"fmt"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"toneplumb/biquad"
	"toneplumb/match/internal/browser"
	"toneplumb/spectrum/testkit"
)

const (
	stateText   = `document.getElementById("state").textContent`
	sourceWords = `[...document.querySelectorAll("#sources .choices label")].map((l) => [...l.children].filter((c) => !c.hidden).map((c) => c.textContent).join(" ").trim()).join("|")`
	saysWider   = `(({ scrollWidth, clientWidth }) => (scrollWidth > clientWidth) === (getComputedStyle(document.querySelector(".sideways")).display !== "none"))(document.getElementById("chart"))`
	heardIndex  = `[...document.querySelectorAll("#sources input")].findIndex((i) => i.checked)`
)

// The player by pointer and keyboard, in a context that runs.
func TestControls(t *testing.T) {
	testkit.Skip(t, "drives a browser")
	p := usual(t)
	b := openPage(t, p.html)
	b.Want("sources", sourceWords, "1 mix|2 mix through the moves|3 reference")
	b.Want("volume at the start", `document.getElementById("volume").value`, "-20")
	b.Want("state", stateText, "Stopped.")
	b.Want("no sound before it is wanted", `livePlayer.transport.graph`, "null")
	b.Click("#play")
	b.Until(stateText + ` === "Playing mix."`)
	b.Until(`livePlayer.transport.position() > 0.2`)
	b.Until(`/^−[0-9.]+ dBFS$/.test(document.getElementById("level-db").textContent)`)

	// Keys choose at the same position, without a stop.
	b.Press("2")
	b.Want("after 2", stateText, "Playing mix through the moves.")
	b.Press("3")
	b.Want("after 3", heardIndex, "2")
	b.Want("still running", `livePlayer.transport.position() > 0.2`, "true")
	b.Press("1")
	b.Want("after 1", heardIndex, "0")

	// Keys can be switched off, and on again.
	b.Click("#keys")
	b.Focus("#volume") // on a box a space is the box's
	b.Press("2 ")
	b.Want("keys are off", stateText, "Playing mix.")
	b.Click("#keys")
	b.Press("2")
	b.Want("keys are on", stateText, "Playing mix through the moves.")
	b.Press("1")

	// Space stops and starts, but on a button it is the button's.
	b.Focus("#volume")
	b.Press(" ")
	b.Want("after space", stateText, "Stopped. Mix is chosen.")
	b.Press(" ")
	b.Until(stateText + ` === "Playing mix."`)
	b.Focus("#play")
	b.Press(" ")
	b.Until(stateText + ` === "Stopped. Mix is chosen."`)

	// Digits in a field are the field's.
	b.Focus("#from")
	b.Press(browser.Delete)
	b.Press("2")
	b.Want("typing", heardIndex, "0")
	b.Text(`[["from", 6], ["to", 5]].forEach(([id, x]) => { document.getElementById(id).value = x; })`)
	b.Text(`document.getElementById("to").dispatchEvent(new Event("change"))`)
	b.Want("a part turned round is the least there is", `document.getElementById("from").value + " " + document.getElementById("to").value`, "6.0 6.5")
	b.Want("its edges", `document.getElementById("edge-from").value + " " + document.getElementById("edge-to").value`, "6 6.5")
	b.Want("the position is in it", `livePlayer.transport.position()`, "6")
	// A handle is 14 wide and is moved 7 out of the way, so that of a short part nothing is covered.
	b.Want("the handles are outside", `(({ left, right }) => ["edge-from", "edge-to"].map((id) => document.getElementById(id).getBoundingClientRect()).map((e, i) => Math.abs(i ? e.right - 14 - right : e.left + 14 - left) < 1))(document.getElementById("strip").getBoundingClientRect()).join()`, "true,true")

	// The edges by keyboard, the strip by pointer.
	b.Focus("#edge-to")
	b.Press(browser.Right)
	b.Want("an edge by arrow", `document.getElementById("to").value`, "6.6")
	b.Click("#whole")
	b.Until(`document.getElementById("from").value + " " + document.getElementById("to").value === "0.0 8.0"`)
	box := b.Box("#strip")
	b.Drag(box[0]+box[2]*0.2, box[1]+box[3]/2, box[0]+box[2]*0.4, box[1]+box[3]/2)
	b.Until(`Math.abs(document.getElementById("from").value - 1.6) < 0.1`)
	b.Until(`Math.abs(document.getElementById("to").value - 3.2) < 0.1`)
	b.ClickAt(box[0]+box[2]*0.3, box[1]+box[3]/2)
	b.Until(`Math.abs(livePlayer.transport.position() - 2.4) < 0.1`)

	// A move off is off in the sound.
	b.Click(`#moves input[value="1"]`)
	b.Until(`livePlayer.transport.on === 13`)
	b.Focus("#volume")
	b.Press(" ")
	b.Until(stateText + ` === "Playing mix."`)
	b.Until(`livePlayer.transport.position() > 2.6`)
	b.Press(" ")
	b.quiet()
}

// Blind: letters alone, in an order that the page does not tell, the keys follow them,
// the level is one for all; then all is told.
func TestBlind(t *testing.T) {
	testkit.Skip(t, "drives a browser")
	p := usual(t)
	b := openPage(t, p.html)
	b.Press("3")
	b.Click("#blind")
	b.Want("letters", sourceWords, "A|B|C")
	b.Want("the first is chosen, whichever it is", heardIndex, "0")
	b.Want("state", stateText, "Stopped. A is chosen.")
	b.Press("2")
	b.Want("2 is B", stateText, "Stopped. B is chosen.")
	b.Press("c")
	b.Want("c is C", stateText, "Stopped. C is chosen.")
	b.Want("names in the choices", `[...document.querySelectorAll("#sources .choices *")].some((e) => [...e.attributes].some((a) => /mix|reference|sound/.test(a.value)))`, "false")
	b.Want("moves", `document.getElementById("moves").disabled`, "true")
	b.Press(" ")
	b.Until(stateText + ` === "Playing C."`)
	b.Until(`livePlayer.transport.position() > 0.5`)
	b.Press("1")
	b.Want("playing", stateText, "Playing A.")
	b.Want("level", `document.getElementById("level-name").textContent`, "level of the mix")
	b.Press(" ")
	b.Click("#reveal")
	words := b.Text(sourceWords)
	for _, name := range []string{"mix", "mix through the moves", "reference"} {
		if !strings.Contains(words+"|", ": "+name+"|") {
			t.Errorf("told %q, without %q", words, name)
		}
	}
	// In many shuffles each source comes first about as often: 300 with a chance of 1/3
	// lie within 100 ± 41 but once in two million.
	first := browser.Eval[[]int](b.Tab, `(() => { const n = [0, 0, 0]; for (let i = 0; i < 300; i++) n[shuffled([0, 1, 2])[0]]++; return n; })()`)
	for i, n := range first {
		if n < 59 || n > 141 {
			t.Errorf("source %d was first %d times of 300: %v", i, n, first)
		}
	}
	b.Click("#blind")
	b.Want("by name again", sourceWords, "1 mix|2 mix through the moves|3 reference")
	b.quiet()
}

// looks are the sizes and papers that are looked at.
var looks = []struct {
	name          string
	width, height int64
	paper         string
}{
	{"1280-light", 1280, 900, "light"},
	{"1280-dark", 1280, 900, "dark"},
	{"360-light", 360, 740, "light"},
	{"360-dark", 360, 740, "dark"},
}

// axe-core finds nothing serious, nothing scrolls sideways, and the page is drawn, in
// both papers and at two widths. TONEPLUMB_AXE names axe.min.js, TONEPLUMB_SHOTS a
// folder where the pictures are kept to be looked at.
func TestLooks(t *testing.T) {
	testkit.Skip(t, "drives a browser")
	p := usual(t)
	b := openPage(t, p.html)
	for _, look := range looks {
		b.As(look.width, look.height, look.paper)
		b.Narrow(look.width)
		b.Want(look.name+": the picture says that it is wider", saysWider, "true")
		b.Want(look.name+": its smallest letters, 16 of 1350, have 11 pixels", `16 * Math.max(...[...document.querySelectorAll("#chart svg")].map((svg) => svg.clientWidth)) / 1350 >= 11`, "true")
		if browser.Engine() != "firefox" { // which has the system's bars
			b.Want(look.name+": a bar below the picture", `getComputedStyle(document.getElementById("chart"), "::-webkit-scrollbar").height`, "12px")
		}
		if im, err := png.DecodeConfig(bytes.NewReader(b.Shot(look.name))); err != nil || im.Width > int(look.width) || im.Width < int(look.width)-20 { // but for a scroll bar
			t.Errorf("%s: a picture of %v, %v", look.name, im, err)
		}
		b.Want(look.name+": long", "document.documentElement.scrollHeight > 2000", "true")
		b.Accessible(look.name, "html")
		b.Click("#blind")
		b.Accessible(look.name+", blind", "#player")
		b.Click("#blind")
	}
	b.quiet()
}

// On A4 the page prints without the player, on light paper, in few sheets.
func TestPrint(t *testing.T) {
	testkit.Skip(t, "drives a browser")
	if browser.Engine() == "webkit" {
		t.Skip("the driver of WebKit does not print")
	}
	const mostSheets = 3 // our choice: a double leaf and a half
	testkit.Tool(t, "pdftotext")
	p := usual(t)
	b := openPage(t, p.html)
	b.As(1280, 900, "dark")
	pdf := filepath.Join(browser.Shots(t), "page.pdf")
	if err := os.WriteFile(pdf, b.PDF(), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("pdftotext", "-layout", pdf, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	text := string(out)
	if sheets := strings.Count(text, "\f"); sheets > mostSheets {
		t.Errorf("%d sheets, want at most %d", sheets, mostSheets)
	}
	for _, want := range []string{"dB from", "low shelf", "+3.5 dB", "trim", "NIOSH", "How to dial", "rough mix.wav"} {
		if !strings.Contains(text, want) {
			t.Errorf("not printed: %q", want)
		}
	}
	for _, never := range []string{"Compare blind", "volume", "Loop"} {
		if strings.Contains(text, never) {
			t.Errorf("printed: %q", never)
		}
	}
	b.quiet()
}

// A browser that does not play at the mix's rate converts the sound, runs the moves as
// an equaliser at its own rate has them, and says so; at a rate without coefficients it
// says that it cannot play.
func TestOtherRates(t *testing.T) {
	testkit.Skip(t, "drives a browser")
	p := usual(t)
	// How far apart, by the responses of package biquad.
	most := 0.0
	for hz := 20.0; hz <= 0.45*44100; hz *= 1.01 {
		at := func(rate float64) float64 { return biquad.ResponseDB(nil, usualMoves, []float64{hz}, rate)[0] }
		most = max(most, math.Abs(at(44100)-at(96000)))
	}
	apartDB := fmt.Sprintf("%.1f", most)
	b := openPage(t, p.html)
	b.Text(`(() => { const Context = AudioContext; AudioContext = class extends Context { constructor(o) { if (o) throw new DOMException("no such rate", "NotSupportedError"); super({ sampleRate: 96000 }); } }; return 1; })()`)
	b.Click("#play")
	b.Until(stateText + ` === "Playing mix. This browser plays at 96 kHz, not at the mix's 44.1 kHz: it converts the sound, and the moves run as an equaliser at 96 kHz has them, up to ` + apartDB + ` dB apart near the top."`)
	b.Press("2")
	b.Until(`livePlayer.transport.position() > 0.3`)
	b.Press(" ")
	b.quiet()

	b = openPage(t, p.html)
	b.Text(`(() => { const Context = AudioContext; AudioContext = class extends Context { constructor() { super({ sampleRate: 22050 }); } }; return 1; })()`)
	b.Click("#play")
	b.Until(fmt.Sprintf(`%s.includes("cannot play here")`, stateText))
	time.Sleep(100 * time.Millisecond)
	b.Want("the button", `document.getElementById("play").textContent`, "Play")
	b.quiet()
}

// Without an output device the sound stands still: the page says so within five seconds.
func TestNoOutput(t *testing.T) {
	testkit.Skip(t, "drives a browser")
	p := usual(t)
	for what, stub := range map[string]string{
		"the context never runs":       `AudioContext.prototype.resume = () => new Promise(() => {})`,
		"the context's time is frozen": `Object.defineProperty(BaseAudioContext.prototype, "currentTime", { get: () => 0 })`,
	} {
		b := openPage(t, p.html)
		b.Text(`((window.began = performance.now()), (` + stub + `), 0)`)
		b.Click("#play")
		b.Until(stateText + `.includes("No sound comes out")`)
		if ms := browser.Eval[float64](b.Tab, `livePlayer.transport.playing ? NaN : NO_OUTPUT_MS`); !(ms < 5000) {
			t.Errorf("%s: it is said after %g ms", what, ms)
		}
		b.quiet()
	}
}
