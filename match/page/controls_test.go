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

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"toneplumb/biquad"
)

const (
	stateText   = `document.getElementById("state").textContent`
	sourceWords = `[...document.querySelectorAll("#sources .choices label")].map((l) => [...l.children].filter((c) => !c.hidden).map((c) => c.textContent).join(" ").trim()).join("|")`
	heardIndex  = `[...document.querySelectorAll("#sources input")].findIndex((i) => i.checked)`
)

func (b *browser) press(keys string) { b.t.Helper(); b.run(chromedp.KeyEvent(keys)) }
func (b *browser) click(selector string) {
	b.t.Helper()
	box := b.box(selector)
	b.run(chromedp.MouseClickXY(box[0]+box[2]/2, box[1]+box[3]/2))
}

// box brings an element into the middle of the window, waits until it is drawn there,
// and returns its left, top, width and height: a pointer that comes sooner may miss it.
func (b *browser) box(selector string) []float64 {
	b.t.Helper()
	return eval[[]float64](b, fmt.Sprintf(`(async () => {
		const element = document.querySelector(%q);
		element.scrollIntoView({ block: "center", behavior: "instant" });
		for (let i = 0; i < 2; i++) await new Promise((drawn) => requestAnimationFrame(drawn));
		const r = element.getBoundingClientRect();
		return [r.left, r.top, r.width, r.height];
	})()`, selector))
}
func (b *browser) want(what, expression, want string) {
	b.t.Helper()
	if got := b.text(expression); got != want {
		b.t.Errorf("%s: %q, want %q", what, got, want)
	}
}

// The player by pointer and keyboard, in a context that runs.
func TestControls(t *testing.T) {
	p := usual(t)
	b := openPage(t, p.html)
	b.want("sources", sourceWords, "1 mix|2 mix through the moves|3 reference")
	b.want("volume at the start", `document.getElementById("volume").value`, "-20")
	b.want("state", stateText, "Stopped.")
	b.want("no sound before it is wanted", `livePlayer.transport.graph`, "null")
	b.click("#play")
	b.until(stateText + ` === "Playing mix."`)
	b.until(`livePlayer.transport.position() > 0.2`)
	b.until(`/^−[0-9.]+ dBFS$/.test(document.getElementById("level-db").textContent)`)

	// Keys choose at the same position, without a stop.
	b.press("2")
	b.want("after 2", stateText, "Playing mix through the moves.")
	b.press("3")
	b.want("after 3", heardIndex, "2")
	b.want("still running", `livePlayer.transport.position() > 0.2`, "true")
	b.press("1")
	b.want("after 1", heardIndex, "0")

	// Space stops and starts, but on a button it is the button's.
	b.run(chromedp.Focus(chromedp.CSS("#volume")))
	b.press(" ")
	b.want("after space", stateText, "Stopped. mix is chosen.")
	b.press(" ")
	b.until(stateText + ` === "Playing mix."`)
	b.run(chromedp.Focus(chromedp.CSS("#play")))
	b.press(" ")
	b.until(stateText + ` === "Stopped. mix is chosen."`)

	// Digits in a field are the field's.
	b.run(chromedp.Focus(chromedp.CSS("#from")), chromedp.KeyEvent(kb.Delete), chromedp.KeyEvent("2"))
	b.want("typing", heardIndex, "0")
	b.text(`[["from", 12], ["to", 9]].forEach(([id, x]) => { document.getElementById(id).value = x; })`)
	b.text(`document.getElementById("to").dispatchEvent(new Event("change"))`)
	b.want("a part turned round is the least there is", `document.getElementById("from").value + " " + document.getElementById("to").value`, "12.0 12.5")
	b.want("its edges", `document.getElementById("edge-from").value + " " + document.getElementById("edge-to").value`, "12 12.5")
	b.want("the position is in it", `livePlayer.transport.position()`, "12")

	// The edges by keyboard, the strip by pointer.
	b.run(chromedp.Focus(chromedp.CSS("#edge-to")), chromedp.KeyEvent(kb.ArrowRight))
	b.want("an edge by arrow", `document.getElementById("to").value`, "12.6")
	b.click("#whole")
	b.until(`document.getElementById("from").value + " " + document.getElementById("to").value === "0.0 16.0"`)
	box := b.box("#strip")
	b.run(chromedp.DragAndDropXY(box[0]+box[2]*0.2, box[1]+box[3]/2, box[0]+box[2]*0.4, box[1]+box[3]/2, 4))
	b.until(`Math.abs(document.getElementById("from").value - 3.2) < 0.2`)
	b.until(`Math.abs(document.getElementById("to").value - 6.4) < 0.2`)
	b.run(chromedp.MouseClickXY(box[0]+box[2]*0.3, box[1]+box[3]/2))
	b.until(`Math.abs(livePlayer.transport.position() - 4.8) < 0.2`)

	// A move off is off in the sound.
	b.click(`#moves input[value="1"]`)
	b.until(`livePlayer.transport.on === 13`)
	b.run(chromedp.Focus(chromedp.CSS("#volume")))
	b.press(" ")
	b.until(stateText + ` === "Playing mix."`)
	b.until(`livePlayer.transport.position() > 5.1`)
	b.press(" ")
	b.quiet()
}

// Blind: letters alone, in an order that the page does not tell, the keys follow them,
// the level is one for all; then all is told.
func TestBlind(t *testing.T) {
	p := usual(t)
	b := openPage(t, p.html)
	b.press("3")
	b.click("#blind")
	b.want("letters", sourceWords, "A|B|C")
	b.want("the first is chosen, whichever it is", heardIndex, "0")
	b.want("state", stateText, "Stopped. A is chosen.")
	b.press("2")
	b.want("2 is B", stateText, "Stopped. B is chosen.")
	b.press("c")
	b.want("c is C", stateText, "Stopped. C is chosen.")
	b.want("names in the choices", `[...document.querySelectorAll("#sources .choices *")].some((e) => [...e.attributes].some((a) => /mix|reference|sound/.test(a.value)))`, "false")
	b.want("moves", `document.getElementById("moves").disabled`, "true")
	b.press(" ")
	b.until(stateText + ` === "Playing C."`)
	b.until(`livePlayer.transport.position() > 0.5`)
	b.press("1")
	b.want("playing", stateText, "Playing A.")
	b.want("level", `document.getElementById("level-name").textContent`, "level of the mix")
	b.press(" ")
	b.click("#reveal")
	words := b.text(sourceWords)
	for _, name := range []string{"mix", "mix through the moves", "reference"} {
		if !strings.Contains(words+"|", ": "+name+"|") {
			t.Errorf("told %q, without %q", words, name)
		}
	}
	// In many shuffles each source comes first about as often: 300 with a chance of 1/3
	// lie within 100 ± 41 but once in two million.
	first := eval[[]int](b, `(() => { const n = [0, 0, 0]; for (let i = 0; i < 300; i++) n[shuffled(3)[0]]++; return n; })()`)
	for i, n := range first {
		if n < 59 || n > 141 {
			t.Errorf("source %d was first %d times of 300: %v", i, n, first)
		}
	}
	b.click("#blind")
	b.want("by name again", sourceWords, "1 mix|2 mix through the moves|3 reference")
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
	{"390-light", 390, 844, "light"},
	{"390-dark", 390, 844, "dark"},
}

func (b *browser) as(width, height int64, paper string) {
	b.t.Helper()
	b.run(chromedp.EmulateViewport(width, height))
	command(b, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: paper}}})
}

// axe-core finds nothing serious, nothing scrolls sideways, and the page is drawn, in
// both papers and at two widths. TONEPLUMB_AXE names axe.min.js, TONEPLUMB_SHOTS a
// folder where the pictures are kept to be looked at.
func TestLooks(t *testing.T) {
	axe, err := os.ReadFile(os.Getenv("TONEPLUMB_AXE"))
	if err != nil {
		needed(t, "axe-core (TONEPLUMB_AXE=…/axe.min.js)")
	}
	folder := os.Getenv("TONEPLUMB_SHOTS")
	if folder == "" {
		folder = t.TempDir()
	}
	p := usual(t)
	b := openPage(t, p.html)
	b.text("(() => { " + string(axe) + "\n; window.axe = window.axe ?? axe; return 1; })()")
	for _, look := range looks {
		b.as(look.width, look.height, look.paper)
		if wide := eval[int64](b, "document.documentElement.scrollWidth"); wide > look.width {
			t.Errorf("%s: the page is %d wide", look.name, wide)
		}
		shot := given(b, chromedp.FullScreenshot(100))
		if im, err := png.DecodeConfig(bytes.NewReader(shot)); err != nil || im.Height < 2000 {
			t.Errorf("%s: a picture of %v, %v", look.name, im, err)
		}
		if err := os.WriteFile(filepath.Join(folder, look.name+".png"), shot, 0o600); err != nil {
			t.Fatal(err)
		}
		for _, blind := range []bool{false, true} {
			if blind {
				b.click("#blind")
			}
			found := eval[[]string](b, `axe.run().then((r) => r.violations.map((v) => v.impact + ": " + v.id + ": " + v.nodes.map((n) => n.target.join(" ") + " " + n.failureSummary).join("; ")))`)
			for _, f := range found {
				if strings.HasPrefix(f, "serious") || strings.HasPrefix(f, "critical") {
					t.Errorf("%s, blind %t: %s", look.name, blind, f)
				} else {
					t.Logf("%s, blind %t: %s", look.name, blind, f)
				}
			}
		}
		b.click("#blind")
	}
	b.quiet()
}

// On A4 the page prints without the player, on light paper, in few sheets.
func TestPrint(t *testing.T) {
	const mostSheets = 3 // our choice: a double leaf and a half
	if _, err := exec.LookPath("pdftotext"); err != nil {
		needed(t, "pdftotext")
	}
	folder := os.Getenv("TONEPLUMB_SHOTS")
	if folder == "" {
		folder = t.TempDir()
	}
	p := usual(t)
	b := openPage(t, p.html)
	b.as(1280, 900, "dark")
	pdf := filepath.Join(folder, "page.pdf")
	if err := os.WriteFile(pdf, given(b, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4))), 0o600); err != nil {
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
	for _, want := range []string{"Tone of the mix", "low-shelf", "+3.5 dB", "trim", "NIOSH", "How to dial", "rough mix.wav"} {
		if !strings.Contains(text, want) {
			t.Errorf("not printed: %q", want)
		}
	}
	for _, never := range []string{"Compare blind", "volume", "Part that is repeated"} {
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
	p := usual(t)
	// How far apart, by the responses of package biquad.
	most := 0.0
	for hz := 20.0; hz <= 0.45*44100; hz *= 1.01 {
		at := func(rate float64) float64 { return biquad.ResponseDB(nil, usualMoves, []float64{hz}, rate)[0] }
		most = max(most, math.Abs(at(44100)-at(96000)))
	}
	apartDB := fmt.Sprintf("%.1f", most)
	b := openPage(t, p.html)
	b.text(`(() => { const Context = AudioContext; AudioContext = class extends Context { constructor(o) { if (o) throw new DOMException("no such rate", "NotSupportedError"); super({ sampleRate: 96000 }); } }; return 1; })()`)
	b.click("#play")
	b.until(stateText + ` === "Playing mix. This browser plays at 96 kHz, not at the mix’s 44.1 kHz: it converts the sound, and the moves run as an equaliser at 96 kHz has them, up to ` + apartDB + ` dB apart near the top."`)
	b.press("2")
	b.until(`livePlayer.transport.position() > 0.3`)
	b.press(" ")
	b.quiet()

	b = openPage(t, p.html)
	b.text(`(() => { const Context = AudioContext; AudioContext = class extends Context { constructor() { super({ sampleRate: 22050 }); } }; return 1; })()`)
	b.click("#play")
	b.until(fmt.Sprintf(`%s.includes("cannot play here")`, stateText))
	time.Sleep(100 * time.Millisecond)
	b.want("the button", `document.getElementById("play").textContent`, "Play")
	b.quiet()
}
