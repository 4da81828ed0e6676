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

	"toneplumb/match/internal/browser"
	"toneplumb/spectrum/testkit"
)

// coded runs a sound through an encoder on the command line: IN and OUT stand for files.
func coded(t *testing.T, raw []byte, end string, command ...string) []byte {
	t.Helper()
	testkit.Tool(t, command[0])
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
	b.Until(settled)
	if got := b.Text("document.title"); got == "pwned" {
		t.Error("a script in a name or tag ran")
	}
	if n := b.Text(`document.querySelectorAll("img, [onload], [onerror]").length`); n != "0" {
		t.Errorf("%s elements came out of names", n)
	}
	// A browser hands < and > out as _.
	b.click(`[data-export="page.html"]`)
	b.Until(`document.getElementById("export-state").textContent.includes("handed")`)
	var page []byte
	for end := time.Now().Add(30 * time.Second); page == nil && time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		if found, _ := filepath.Glob(filepath.Join(b.Downloads, "*.html")); len(found) == 1 {
			page, _ = os.ReadFile(found[0])
		}
	}
	if page == nil || bytes.Contains(page, []byte("<img")) || bytes.Contains(page, []byte("<svg onload")) {
		t.Errorf("the saved page of %d bytes holds what the names hold", len(page))
	}
	b.Quiet()
}

// A broken file is told of in two lines and can be taken away; the rest goes on.
func TestBadFile(t *testing.T) {
	v := start(t)
	b := v.open()
	b.dropOn("mix.wav", onDisk(t, []byte("no sound at all")))
	b.Until(`files[0]?.state === "failed"`)
	told := strings.Split(b.Text(`document.querySelector(".file-row .how").textContent`), "\n")
	if len(told) != 2 || told[0] == "" || told[1] == "" || strings.Count(b.textOf("recordings"), "mix.wav") != 1 {
		t.Errorf("a broken file is told of as %q", told)
	}
	b.click(".file-row button")
	b.Until(`files.length === 0 && document.querySelectorAll(".file-row").length === 0`)
	b.rough()
	v.server.uploads.lock.Lock()
	n := len(v.server.uploads.all)
	v.server.uploads.lock.Unlock()
	if n != 2 {
		t.Errorf("the server holds %d recordings, want 2", n)
	}
	b.Quiet()
}

// What the server cannot decode the browser does, and the page says so.
func TestBrowserDecodes(t *testing.T) {
	testkit.Skip(t, "drives a browser")
	m4a := coded(t, sound(t, 8, 1), "m4a", "ffmpeg", "-loglevel", "error", "-i", "IN", "-c:a", "aac", "OUT")
	v := start(t)
	b := v.open()
	if b.Text(`document.createElement("audio").canPlayType("audio/mp4; codecs=mp4a.40.2")`) == "" {
		t.Skip("this browser does not decode AAC")
	}
	t.Setenv("PATH", "/nowhere") // ffmpeg is out of the server's reach
	b.dropOn("mix.m4a", onDisk(t, m4a))
	b.Until(`["ready", "failed"].includes(files[0]?.state)`)
	if got := b.textOf("recordings"); !strings.Contains(got, "decoded by the browser, at 48 kHz") {
		t.Errorf("the recording is told of as %q", got)
	}
	b.Quiet()
}

// An upload and a measurement are cancelled: nothing of them is left.
func TestCancel(t *testing.T) {
	v := start(t)
	b := v.open()
	long := onDisk(t, sound(t, 30, 1))
	// The server's only places are taken, so that they wait.
	for range cap(v.server.uploads.free.places) {
		v.server.uploads.free.places <- struct{}{}
	}
	b.dropOn("one.wav", long, "two.wav", long)
	b.Until(`files.length === 2 && files.every(({ state }) => state === "waiting")`)
	if got := b.textOf("busy"); got != "2 recordings are on their way." {
		t.Errorf("the page says %q", got)
	}
	b.click(".file-row button")
	b.Until(`files.length === 1`)
	for range cap(v.server.uploads.free.places) {
		<-v.server.uploads.free.places
	}
	b.Until(`files[0].state === "ready"`)
	b.click(".file-row button")
	b.Until(`files.length === 0`)
	browser.Eval[bool](b.Tab, `(() => { takeIn([new File([new Uint8Array(150e6)], "large.wav")]); files[0].cancel(); return true; })()`)
	b.Until(`files.length === 0`)
	v.emptied()
	b.Quiet("404") // the page may be asking for what was just taken away
}

// A second tab sees what the first has done; each goes its own way from there, and a
// second browser is kept out.
func TestTwoTabs(t *testing.T) {
	v := start(t)
	b := v.open()
	b.rough()
	second := &tab{b.Beside(v.home + "/")}
	second.Until(settled)
	if x, y := b.Text(`JSON.stringify(shownMoves())`), second.Text(`JSON.stringify(shownMoves())`); x != y {
		t.Errorf("the second tab shows %s, the first %s", y, x)
	}
	second.set("#toward", "100")
	b.set("#toward", "30")
	if x, y := b.Text(`document.getElementById("toward").value`), second.Text(`document.getElementById("toward").value`); x != "30" || y != "100" {
		t.Errorf("the tabs stand at %s and %s, want 30 and 100", x, y)
	}
	// Of two that are dropped together either may have arrived first, and what the page
	// takes away is gone from it before it is from the server.
	mix := b.Text(`app.mix`)
	second.Text(`fileOf(app.mix).away.click()`)
	second.Until(`files.length === 1`)
	for end := time.Now().Add(time.Minute); v.server.uploads.get(mix) != nil; time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			t.Fatal("the mix is not taken away")
		}
	}
	browser.Eval[bool](b.Tab, `(byId("toward").value = "50", byId("toward").dispatchEvent(new Event("change")), true)`)
	b.Until(`document.getElementById("trouble").textContent.includes("there is no mix")`)
	b.Quiet("422")
	second.Quiet()
}

// The player follows the moves, A and B are heard, and a new bounce keeps the settings.
func TestHearAndBounce(t *testing.T) {
	v := start(t)
	b := v.open()
	b.rough()
	b.Until(`heard !== null && !document.getElementById("player").hidden`)
	browser.Eval[bool](b.Tab, `heard.transport.setVolume(-60) ?? true`)
	b.Click("#play") // a hand's click: without one browsers let nothing sound
	b.Until(`heard.transport.playing && heard.transport.position() > 0`)
	sources := b.Text(`document.querySelectorAll("#sources .choices input").length`)
	if sources != "3" {
		t.Errorf("%s sources to hear, want mix, moves and reference", sources)
	}
	b.click("#sources .choices label:nth-of-type(2) input")
	b.Until(`heard.transport.levelDB() > -200`)
	b.set("#rows li:first-of-type [data-name=gain_db] input[type=text]", "6")
	b.Until(`heard.transport.player.moves[0].label.includes("+6.0") && heard.transport.playing`)
	if got := b.textOf("state"); !strings.Contains(got, "Playing mix through the moves") {
		t.Errorf("the player says %q", got)
	}
	b.Click("#play") // a hand's click: without one browsers let nothing sound
	b.Until(`!heard.transport.playing`)

	b.set("#toward", "80")
	b.click("#as-advised")
	b.Until(settled)
	want := b.Text(`app.answer.distance_after_db`)
	moved := sound(t, 24, 1, append(faults[:2:2], byMatch(t, sound(t, 24, 1, faults...), sound(t, 24, 2)).Solve(asTold(80)).Settings().Moves...)...)
	b.Files("#choose-bounce", onDisk(t, moved))
	b.Until(`files.some(({ role, state, bounce }) => role === "mix" && bounce && state === "ready") && ` + settled)
	if got := b.Text(`document.getElementById("toward").value`); got != "80" {
		t.Errorf("the new bounce is asked for %s %% of the way, want 80", got)
	}
	b.Until(`document.getElementById("before-after").textContent !== "" && !document.getElementById("already").hidden`)
	b.click("#already-on")
	b.Until(settled + ` && app.answer.as_bounced_db !== null`)
	if got := b.textOf("before-after"); !strings.Contains(got, "of this one: "+fmt.Sprintf("%.3s", want)) {
		t.Errorf("before and after: %q, predicted %s", got, want)
	}
	b.Want("the mix's curve", `document.getElementById("key-mix").textContent`, "mix without your moves")
	b.Shot("bounce")
	if rows := b.Text(`document.querySelectorAll("#history tr").length`); rows != "2" || !strings.Contains(b.textOf("history"), "new bounce of rough mix.wav") {
		t.Errorf("%s comparisons in the list: %q", rows, b.textOf("history"))
	}
	b.Quiet()
}
