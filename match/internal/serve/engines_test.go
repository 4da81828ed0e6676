package serve

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"toneplumb/examples/demo"
	"toneplumb/match/internal/browser"
	"toneplumb/spectrum/testkit"
)

// demoFiles are the demo's mix and reference on disk, made once.
var demoFiles = sync.OnceValues(func() ([2]string, error) {
	dir, err := os.MkdirTemp("", "demo-")
	if err != nil {
		return [2]string{}, err
	}
	mix, ref, err := demo.Write(context.Background(), dir, nil)
	return [2]string{mix, ref}, err
})

// silentDBFS is the level below which a player that starts at −20 dB would be heard by nobody: our
// choice. The demo's loudness is some −20 LUFS.
const silentDBFS = -70

// The whole job in every engine: the demo's files are chosen, the answer is inside the window, it is
// heard, numbers are typed, a slider moves the curve, every view has its address, and the saved
// page plays.
func TestEveryEngine(t *testing.T) {
	testkit.Skip(t, "drives three browsers")
	files, err := demoFiles()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(filepath.Dir(files[0])) })
	browser.Each(t, func(t *testing.T) {
		v := start(t)
		b := v.open()
		b.Files("#choose-mix", files[0])
		b.Files("#choose-references", files[1])
		b.Until(settled + ` && !byId("player").hidden`)
		b.Want("moves", `document.querySelectorAll(".move").length`, "4") // as the README's picture of it
		b.Want("where the window is", `scrollY < 10`, "true")
		b.inside("#headline", "#chart", "#rows", ".move:last-child", "#play", "#sources")
		b.plays()
		b.typesNumbers()
		b.slides()
		b.walksTheViews()
		b.Quiet()
		v.playsSaved(b)
	})
}

// plays checks that Play is heard, and stops.
func (b *tab) plays() {
	b.T.Helper()
	b.Click("#play")
	b.Until(`document.getElementById("state").textContent.startsWith("Playing mix")`)
	const seconds = 10 // an engine that says it plays may reach a busy machine's output late
	db := b.Sounding()
	for range seconds {
		if db > silentDBFS {
			break
		}
		db = b.Sounding()
	}
	if !(db > silentDBFS) {
		b.T.Errorf("the browser plays at %.1f dBFS", db)
	}
	b.Click("#play")
	b.Until(`document.getElementById("state").textContent.startsWith("Stopped.")`)
}

// typesNumbers types numbers as people do, key by key.
func (b *tab) typesNumbers() {
	b.T.Helper()
	for _, typed := range []struct{ dial, text, want string }{
		{"gain_db", "2,5", "2.5"}, {"freq_hz", "1.2k", "1180"}, {"gain_db", "−2.5", "-2.5"},
	} {
		field := fmt.Sprintf("#rows li:nth-of-type(2) [data-name=%s] input[type=text]", typed.dial)
		b.Click(field)
		b.Text(fmt.Sprintf("document.querySelector(%q).select()", field))
		b.Press(typed.text + "\t")
		b.Until(settled + fmt.Sprintf(` && String(shownMoves()[1].%s) === %q`, typed.dial, typed.want))
	}
}

// slides drags a slider and waits for its curve.
func (b *tab) slides() {
	b.T.Helper()
	const curve = `document.querySelector("#curve-all path").getAttribute("d")`
	b.Text(`window.drawnAt = [], window.before = ` + curve)
	b.Text(`document.querySelector("#rows li:nth-of-type(2) [data-name=gain_db] input[type=range]").addEventListener("input", () => {
		const began = performance.now();
		requestAnimationFrame(() => setTimeout(() => drawnAt.push(performance.now() - began)));
	})`)
	box := b.Box("#rows li:nth-of-type(2) [data-name=gain_db] input[type=range]")
	y := box[1] + box[3]/2
	b.Drag(box[0]+box[2]*0.3, y, box[0]+box[2]*0.9, y)
	b.Until(settled + ` && ` + curve + ` !== before && shownMoves()[1].gain_db > 2`)
	b.T.Logf("slider to curve, ms: %s", b.Text(`drawnAt.map((ms) => ms.toFixed(0)).sort((a, b) => a - b).join(" ")`))
}

// walksTheViews opens each view by its address and goes back.
func (b *tab) walksTheViews() {
	b.T.Helper()
	names := browser.Eval[[]string](b.Tab, `Object.keys(VIEWS).slice(1)`)
	for _, name := range names {
		b.Text(fmt.Sprintf(`location.hash = "#%s"`, name))
		b.Until(fmt.Sprintf(`view.name === %q && document.title === document.querySelector("h1").textContent`, name))
		b.Until(`byId("outcome").hidden || ` + answered)
	}
	for i := range names {
		b.Text(`(history.back(), 0)`)
		b.Until(fmt.Sprintf(`view.name === Object.keys(VIEWS)[%d]`, len(names)-1-i))
	}
}

// playsSaved opens the page that is taken away, from disk, and plays it.
func (v *visit) playsSaved(b *tab) {
	v.t.Helper()
	if response, err := v.client.Get(v.server.NewURL()); err == nil { // the first address is the browser's
		response.Body.Close()
	}
	var made struct{ Path string }
	var page bytes.Buffer
	ask := usual(b.Text("app.mix"), b.Text("app.references[0]"))
	if code := v.post("/export/page.html", ask, &made); code != http.StatusOK {
		v.t.Fatalf("the page is answered with %d", code)
	}
	v.ask("GET", "/"+made.Path, nil, &page)
	path := onDisk(v.t, page.Bytes())
	if err := os.Rename(path, path+".html"); err != nil {
		v.t.Fatal(err)
	}
	saved := &tab{browser.Open(v.t, "file://"+path+".html")}
	saved.plays()
	saved.Quiet()
}
