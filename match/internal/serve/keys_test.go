package serve

import (
	"bytes"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"testing"

	"toneplumb/match/internal/browser"
	"toneplumb/spectrum/testkit"
)

// dropIn uploads a file for a role.
func (v *visit) dropIn(role, name string, content []byte) {
	v.t.Helper()
	var d struct{ ID string }
	if got := v.ask("POST", "/recordings?name="+url.QueryEscape(name)+"&role="+role, bytes.NewReader(content), &d); got != http.StatusCreated {
		v.t.Fatalf("dropping %q is answered with %d", name, got)
	}
	v.measured(d.ID)
}

// tabTo presses Tab until the element of a selector has the focus, and returns how often.
func (b *tab) tabTo(selector string, most int) int {
	b.T.Helper()
	return b.focusBy("\t", selector, most)
}

// tabBack goes the other way.
func (b *tab) tabBack(selector string, most int) int {
	b.T.Helper()
	return b.focusBy(browser.Shift+"\t", selector, most)
}

func (b *tab) focusBy(key, selector string, most int) int {
	b.T.Helper()
	for stops := range most + 1 {
		if b.Text(fmt.Sprintf("document.activeElement.matches(%q)", selector)) == "true" {
			return stops
		}
		b.Press(key)
	}
	b.T.Fatalf("%s is not within %d tab stops; the focus is on %s", selector, most, b.Text(`document.activeElement.outerHTML.slice(0, 200)`))
	return 0
}

// byKey is one thing that a person with a keyboard alone does: Tab to an element, then keys, then
// what is true afterwards.
type byKey struct{ selector, keys, then string }

const most = 60 // tab stops from one thing to the next: our choice, a long page has some more in all

// keyWalks are what is done in each view, in the order of the page.
var keyWalks = []struct {
	view  string
	steps []byKey
}{
	{"match", []byKey{
		{"#play", " ", `heard.transport.playing`},
		{"#play", " ", `!heard.transport.playing`},
		{"#sources input", browser.Right, `byId("state").textContent.includes("through the moves")`},
		{"#listen-open", browser.Enter, `!byId("listen").hidden`},
		{"#listen-open", browser.Enter, `byId("listen").hidden`},
		{"#volume", browser.Left, `byId("volume").value === "-21"`},
		{"#zoom-db", "", "true"},
		{"#chart", browser.Right, `byId("readout").textContent.includes("kHz")`},
		{"#keep-set", browser.Enter, `keptSets.length === 1`},
		{"#rows li:first-child [data-name=gain_db] input[type=text]", "2,5\t", settled + ` && shownMoves()[0].gain_db === 2.5`},
		{"#rows li:first-child [data-name=gain_db] input[type=range]", browser.Right, settled + ` && shownMoves()[0].gain_db === 3`},
		{"#stage", "", "true"},
		{"#toward", browser.Up, settled + ` && app.fields.toward_percent === 65`},
		{"#parts summary", " ", `byId("parts").open`},
		{"#mix-times", "0-10\t", settled + ` && app.fields.mix_part !== null`},
		{"[data-export='chart.png']", "", "true"},
	}},
	{"check", []byKey{
		{"#check-within", "0,5\t", answered + ` && byId("outcome").innerText.includes("0.5")`},
		{"#outcome-picture [tabindex]", browser.Right, `document.querySelector("#outcome-picture .readout").textContent.startsWith("1.0")`},
		{"#outcome-first .scroll", "", "true"},
		{"#outcome-files a[download]", "", "true"},
	}},
	{"class", []byKey{
		{"#class-order", browser.Down, answered + ` && byId("class-order").value === "distance"`},
		{"#outcome-first .scroll", "", "true"},
		{"#outcome-files a[download]", "", "true"},
	}},
	{"tracks", []byKey{
		{"#play", "", "true"},
		{"#tracks-known summary", " ", `byId("tracks-known").open`},
		{"#track-rows input", "kit\t", answered + ` && placingFor().groups.length === 1 && view.asked.tracks.told.state === "ready" && !byId("moves").hidden`},
		{"#outcome-picture [tabindex]", browser.Right, `document.querySelector("#outcome-picture .readout").textContent.startsWith("1.0")`},
		{"#moves input", " ", `heard.transport.on !== 2 ** heard.transport.player.moves.length - 1`},
		{"#outcome-files a[download]", "", "true"},
	}},
	{"nearest", []byKey{{"#outcome-files a[download]", "", "true"}}},
	{"exercise", []byKey{
		{"#exercise-renders", "1\t", `byId("exercise-renders").dataset.value === "1"`},
		{"#exercise-difficulty", browser.Up, `byId("exercise-difficulty").value === "easy"`},
		{"form[data-for~=exercise] [type=submit]", " ", answered},
		{"#outcome-files a[download]", "", "true"},
	}},
	{"marking", []byKey{
		{"#choose-papers", "", answered},
		{"#outcome-more .scroll", "", "true"},
		{"#outcome-files a[download]", "", "true"},
	}},
	{"equaliser", []byKey{
		{"#probe-rate", "", "true"},
		{"#probe", "", "true"},
		{"#take-equaliser", browser.Enter, `view.name === "match" && ` + settled},
	}},
}

// Every view by keyboard alone, Play within twelve tab stops: the test presses keys and looks. Only
// choosing a file is left out, which is done in the system's own window.
func TestByKeysAlone(t *testing.T) {
	testkit.Skip(t, "drives a browser") // before the recordings are made for it
	v := enter(t)
	v.dropIn("mix", "rough mix.wav", sound(t, 24, 1, faults...))
	v.dropIn("reference", "reference.wav", sound(t, 24, 2))
	v.dropIn("class", "anna.wav", sound(t, 12, 1, faults...))
	v.dropIn("class", "ben.wav", sound(t, 12, 4))
	v.dropIn("track", "bass.wav", sound(t, 24, 1))
	v.dropIn("track", "keys.wav", sound(t, 24, 4))
	for name, raw := range prints(t, v) {
		v.dropIn("print", name, raw)
	}
	var papers []string
	for name, raw := range map[string]string{"exercise.answers.json": string(lesson(t)), "anna.csv": "render,shape,freq_hz,gain_db,q\n1,bell,1000,4,1\n2,bell,250,3,1\n"} {
		path := filepath.Join(t.TempDir(), name)
		if err := os.WriteFile(path, []byte(raw), 0o600); err != nil {
			t.Fatal(err)
		}
		papers = append(papers, path)
	}
	b := &tab{browser.Open(t, v.server.NewURL())}
	b.Until(settled + ` && !byId("player").hidden`)
	b.Press("\t")
	b.Want("the first stop", `document.activeElement.id`, "skip")
	if stops := 1 + b.tabTo("#play", 12); stops > 12 {
		t.Errorf("Play is stop %d, want 12 at most", stops)
	} else {
		t.Logf("Play is stop %d", stops)
	}
	for _, walk := range keyWalks {
		if walk.view != "match" {
			b.tabBack("#skip", 200)
			b.tabTo(fmt.Sprintf("#views a[href='#%s']", walk.view), 10)
			b.Press(browser.Enter)
			b.Until(fmt.Sprintf(`view.name === %q`, walk.view))
			if walk.view != "exercise" && walk.view != "marking" {
				b.Until(answered + ` && (view.name !== "tracks" || !byId("player").hidden)`)
			}
		}
		for _, step := range walk.steps {
			b.tabTo(step.selector, most)
			if step.selector == "#choose-papers" {
				b.Files("#choose-papers", papers...)
			}
			if step.keys != "" {
				b.Press(step.keys)
			}
			b.Until(step.then)
		}
	}
	b.Quiet()
}
