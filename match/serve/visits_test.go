package serve

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// coded runs a sound through an encoder on the command line: IN and OUT stand for files.
func coded(t *testing.T, raw []byte, end string, command ...string) []byte {
	t.Helper()
	if _, err := exec.LookPath(command[0]); err != nil {
		if os.Getenv("TONEPLUMB_ORACLES") == "required" {
			t.Fatalf("%s is needed for this check and is not there", command[0])
		}
		t.Skipf("%s is not there", command[0])
	}
	dir := t.TempDir()
	in, out := filepath.Join(dir, "in.wav"), filepath.Join(dir, "out."+end)
	if err := os.WriteFile(in, raw, 0o600); err != nil {
		t.Fatal(err)
	}
	for i, word := range command {
		command[i] = map[string]string{"IN": in, "OUT": out}[word]
		if command[i] == "" {
			command[i] = word
		}
	}
	if text, err := exec.Command(command[0], command[1:]...).CombinedOutput(); err != nil {
		t.Fatalf("%s: %v\n%s", command[0], err, text)
	}
	coded, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	return coded
}

// An MP3 whose name and tags hold scripts is measured, compared and handed out; nothing
// of them runs, in the page, in its chart, and in what is taken away.
func TestScriptsInNames(t *testing.T) {
	v := start(t)
	b := v.open()
	const evil = `<img src=x onerror="document.title='pwned'">`
	mp3 := coded(t, sound(t, 12, 1, faults...), "mp3", "lame", "--quiet", "-b", "192", "--tt", evil, "--ta", "<script>document.title='pwned'</script>", "--tc", evil, "IN", "OUT")
	b.dropOn(evil+".mp3", onDisk(t, mp3), `"><svg onload=document.title='pwned'>.wav`, onDisk(t, sound(t, 12, 2)))
	b.until(settled)
	if got := b.text("document.title"); got == "pwned" {
		t.Error("a script in a name or tag ran")
	}
	if n := b.text(`document.querySelectorAll("img, [onload], [onerror]").length`); n != "0" {
		t.Errorf("%s elements came out of names", n)
	}
	// A browser hands < and > out as _.
	b.click(`[data-take="page.html"]`)
	b.until(`document.getElementById("take-state").textContent.includes("handed")`)
	var page []byte
	for end := time.Now().Add(30 * time.Second); page == nil && time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		if found, _ := filepath.Glob(filepath.Join(b.downloads, "*.html")); len(found) == 1 {
			page, _ = os.ReadFile(found[0])
		}
	}
	if page == nil || bytes.Contains(page, []byte("<img")) || bytes.Contains(page, []byte("<svg onload")) {
		t.Errorf("the saved page of %d bytes holds what the names hold", len(page))
	}
	b.quiet()
}

// A broken file is told of in two lines and can be taken away; the rest goes on.
func TestBadFile(t *testing.T) {
	v := start(t)
	b := v.open()
	b.dropOn("mix.wav", onDisk(t, []byte("no sound at all")))
	b.until(`files[0]?.state === "failed"`)
	told := strings.Split(b.text(`document.querySelector(".file-row .how").innerText`), "\n")
	if len(told) != 2 || !strings.Contains(told[0], "mix.wav") || told[1] == "" {
		t.Errorf("a broken file is told of as %q", told)
	}
	b.click(".file-row button")
	b.until(`files.length === 0 && document.querySelectorAll(".file-row").length === 0`)
	b.rough()
	v.server.shelf.lock.Lock()
	n := len(v.server.shelf.all)
	v.server.shelf.lock.Unlock()
	if n != 2 {
		t.Errorf("the server holds %d recordings, want 2", n)
	}
	b.quiet()
}

// What the server cannot decode the browser does, and the page says so.
func TestBrowserDecodes(t *testing.T) {
	m4a := coded(t, sound(t, 8, 1), "m4a", "ffmpeg", "-loglevel", "error", "-i", "IN", "-c:a", "aac", "OUT")
	v := start(t)
	b := v.open()
	if b.text(`document.createElement("audio").canPlayType("audio/mp4; codecs=mp4a.40.2")`) == "" {
		t.Skip("this browser does not decode AAC")
	}
	t.Setenv("PATH", "/nowhere") // ffmpeg is out of the server's reach
	b.dropOn("mix.m4a", onDisk(t, m4a))
	b.until(`["ready", "failed"].includes(files[0]?.state)`)
	if got := b.textOf("recordings"); !strings.Contains(got, "decoded by the browser, at 48 kHz") {
		t.Errorf("the recording is told of as %q", got)
	}
	b.quiet()
}

// An upload and a measurement are cancelled: nothing of them is left.
func TestCancel(t *testing.T) {
	v := start(t)
	b := v.open()
	long := onDisk(t, sound(t, 30, 1))
	// The server's only places are taken, so that they wait.
	for range cap(v.server.shelf.free) {
		v.server.shelf.free <- struct{}{}
	}
	b.dropOn("one.wav", long, "two.wav", long)
	b.until(`files.length === 2 && files.every(({ state }) => state === "waiting")`)
	if got := b.textOf("busy"); got != "2 recordings are on their way." {
		t.Errorf("the page says %q", got)
	}
	b.click(".file-row button")
	b.until(`files.length === 1`)
	for range cap(v.server.shelf.free) {
		<-v.server.shelf.free
	}
	b.until(`files[0].state === "ready"`)
	b.click(".file-row button")
	b.until(`files.length === 0`)
	eval[bool](b, `(() => { arrive([new File([new Uint8Array(150e6)], "large.wav")]); files[0].cancel(); return true; })()`)
	b.until(`files.length === 0`)
	v.emptied()
	b.quiet("404") // the page may be asking for what was just taken away
}

// A second tab sees what the first has done; each goes its own way from there, and a
// second browser is kept out.
func TestTwoTabs(t *testing.T) {
	v := start(t)
	b := v.open()
	b.rough()
	second := v.tab(b.ctx)
	second.run(chromedp.Navigate(v.origin), chromedp.WaitReady("main"))
	second.until(settled)
	if x, y := b.text(`JSON.stringify(shownMoves())`), second.text(`JSON.stringify(shownMoves())`); x != y {
		t.Errorf("the second tab shows %s, the first %s", y, x)
	}
	second.set("#toward", "100")
	b.set("#toward", "30")
	if x, y := b.text(`document.getElementById("toward").value`), second.text(`document.getElementById("toward").value`); x != "30" || y != "100" {
		t.Errorf("the tabs stand at %s and %s, want 30 and 100", x, y)
	}
	second.click(".file-row button") // takes the mix away
	second.until(`files.length === 1`)
	eval[bool](b, `(byId("toward").value = "50", byId("toward").dispatchEvent(new Event("change")), true)`)
	b.until(`document.getElementById("trouble").textContent.includes("there is no mix")`)
	b.quiet("422")
	second.quiet()
}

// The player follows the moves, A and B are heard, and a new bounce keeps the settings.
func TestHearAndBounce(t *testing.T) {
	v := start(t)
	b := v.open()
	b.rough()
	b.until(`heard !== null && !document.getElementById("player").hidden`)
	eval[bool](b, `heard.transport.setVolume(-60) ?? true`)
	b.run(chromedp.Click(chromedp.CSS("#play"))) // a hand's click: without one browsers let nothing sound
	b.until(`heard.transport.playing && heard.transport.position() > 0`)
	sources := b.text(`document.querySelectorAll("#sources .choices input").length`)
	if sources != "3" {
		t.Errorf("%s sources to hear, want mix, moves and reference", sources)
	}
	b.click("#sources .choices label:nth-of-type(2) input")
	b.until(`heard.transport.levelDB() > -200`)
	b.set("#rows tbody:first-of-type td[data-name='gain, dB'] input", "6")
	b.until(`heard.transport.player.moves[0].label.includes("+6.0") && heard.transport.playing`)
	if got := b.textOf("state"); !strings.Contains(got, "Playing mix through the moves") {
		t.Errorf("the player says %q", got)
	}
	b.run(chromedp.Click(chromedp.CSS("#play"))) // a hand's click: without one browsers let nothing sound
	b.until(`!heard.transport.playing`)

	b.set("#toward", "80")
	b.click("#as-advised")
	b.until(settled)
	want := b.text(`desk.answer.distance_after_db`)
	moved := sound(t, 24, 1, append(faults[:2:2], byMatch(t, sound(t, 24, 1, faults...), sound(t, 24, 2)).Solve(asTold(80)).Settings().Moves...)...)
	b.run(chromedp.SetUploadFiles("#choose-bounce", []string{onDisk(t, moved)}))
	b.until(`files.some(({ part, state, bounce }) => part === "mix" && bounce && state === "ready") && ` + settled)
	if got := b.text(`document.getElementById("toward").value`); got != "80" {
		t.Errorf("the new bounce is asked for %s %% of the way, want 80", got)
	}
	b.until(`document.getElementById("before-after").textContent !== "" && !document.getElementById("already").hidden`)
	b.click("#already-on")
	b.until(settled + ` && desk.answer.as_bounced_db !== null`)
	if got := b.textOf("before-after"); !strings.Contains(got, "of this one: "+fmt.Sprintf("%.3s", want)) {
		t.Errorf("before and after: %q, predicted %s", got, want)
	}
	b.shot("bounce")
	if rows := b.text(`document.querySelectorAll("#sitting tr").length`); rows != "2" || !strings.Contains(b.textOf("sitting"), "new bounce of rough mix.wav") {
		t.Errorf("%s comparisons in the sitting: %q", rows, b.textOf("sitting"))
	}
	b.quiet()
}

// The looks: pictures at three widths in light and dark for the eye, no line wider than
// the window, and nothing serious by axe-core where TONEPLUMB_AXE names its axe.min.js.
func TestLooks(t *testing.T) {
	v := start(t)
	b := v.open()
	axe, err := os.ReadFile(os.Getenv("TONEPLUMB_AXE"))
	if err != nil {
		if os.Getenv("TONEPLUMB_AXE") != "" {
			t.Fatal(err)
		}
		t.Log("TONEPLUMB_AXE is not set: accessibility is not checked")
	}
	b.dropOn("eine-sehr-lange-bezeichnung_ohne_jedes_leerzeichen_die_irgendwann_umbrechen_muss_2026-11-26_final_FINAL_v12 (Mixdown) – Größe.wav",
		onDisk(t, sound(t, 24, 1, faults...)), "日本語 “reference” 2.wav", onDisk(t, sound(t, 24, 2)), "broken.mp3", onDisk(t, []byte("nothing")))
	b.until(settled + ` && files[2].state === "failed"`)
	b.set("#rows tbody:first-of-type td[data-name='gain, dB'] input", "-4")
	eval[bool](b, `document.querySelectorAll("details").forEach((d) => (d.open = true)) ?? true`)
	for _, paper := range []string{"light", "dark"} {
		command(b, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: paper}}})
		for _, width := range []int64{1440, 768, 390} {
			command(b, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: width, Height: 900, DeviceScaleFactor: 1})
			b.until(settled)
			b.shot(fmt.Sprintf("%d-%s", width, paper))
			if got := b.text(`document.documentElement.scrollWidth`); got != fmt.Sprint(width) {
				t.Errorf("at %d pixels the page is %s wide: %s", width, got, b.text(fmt.Sprintf(`[...document.querySelectorAll("body *:not(svg *)")].filter((e) => e.getBoundingClientRect().right + scrollX > %d).map((e) => e.tagName + "." + e.className + "#" + e.id).slice(0, 12).join(" ")`, width)))
			}
			if axe == nil {
				continue
			}
			eval[bool](b, string(axe)+"; true")
			found := eval[string](b, `axe.run({ runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "best-practice"] }).then(({ violations }) => violations
				.filter(({ impact }) => impact === "serious" || impact === "critical").map(({ id, nodes }) => id + ": " + nodes.map(({ html }) => html.slice(0, 120)).join(" | ")).join("\n"))`)
			if found != "" {
				t.Errorf("axe-core at %d pixels, %s:\n%s", width, paper, found)
			}
		}
	}
	b.quiet()
}
