package serve

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"toneplumb/match/artefact"
	"toneplumb/match/internal/browser"
	"toneplumb/match/report"
)

// task asks for a view and waits for its end.
func (v *visit) task(name string, ask any) taskState {
	v.t.Helper()
	var begun struct{ ID string }
	if code := v.post("/tasks/"+name, ask, &begun); code != http.StatusCreated {
		v.t.Fatalf("%s is answered with %d", name, code)
	}
	return v.taskOf(begun.ID)
}

// taskOf waits for the end of a task.
func (v *visit) taskOf(id string) taskState {
	v.t.Helper()
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(5 * time.Millisecond) {
		var state taskState
		if code := v.ask("GET", "/tasks/"+id, nil, &state); code != http.StatusOK {
			v.t.Fatalf("asking for a task is answered with %d", code)
		}
		if state.State == ready || state.State == failed {
			return state
		}
	}
	v.t.Fatal("a task is not done after a minute")
	return taskState{}
}

// Each view finds what the command of its name finds, hands out every form of it, and is
// forgotten with a recording that it is about.
func TestViews(t *testing.T) {
	v := enter(t)
	mixWAV, refWAV := sound(t, 12, 1, faults...), sound(t, 12, 2)
	mix, before, ref := v.drop("mix.wav", mixWAV), v.drop("before.wav", sound(t, 12, 1)), v.drop("ref.wav", refWAV)
	for _, id := range []string{mix, before, ref} {
		v.measured(id)
	}
	k := byMatch(t, mixWAV, refWAV).Verdict(0)
	ask := with(with(usual(mix, ref), "before", before), "mixes", []string{mix, before})
	wants := map[string]struct {
		headline string
		files    int
	}{
		"check":   {report.CheckSentence(k), len(artefact.Check)},
		"class":   {"2 mixes: none is off, 2 near enough. Beside one reference only large faults show.", len(artefact.Class)},
		"nearest": {"With 3 or fewer there is nothing to choose: use all of them.", len(artefact.Nearest)},
	}
	for name, want := range wants {
		got := v.task(name, ask)
		if got.Outcome == nil || got.Outcome.Headline != want.headline || len(got.Outcome.Files) != want.files || len(got.Outcome.Blocks) < 2 {
			t.Errorf("%s: %+v %+v, want %+v", name, got, got.Outcome, want)
			continue
		}
		for _, f := range got.Outcome.Files {
			var content bytes.Buffer
			if code := v.ask("GET", "/tasks/"+got.ID+"/files/"+f.Name, nil, &content); code != http.StatusOK || content.Len() < 100 || f.Form == "" {
				t.Errorf("%s: %q (%q) has %d bytes (%d)", name, f.Name, f.Form, content.Len(), code)
			}
			if strings.Contains(content.String(), v.server.folder) || strings.Contains(content.String(), mix) {
				t.Errorf("%s: %s tells where the recordings lie", name, f.Name)
			}
		}
		var picture bytes.Buffer
		code := v.ask("GET", "/tasks/"+got.ID+"/picture?width=640&height=400", nil, &picture)
		if has := got.Outcome.InWords != ""; has != (code == http.StatusOK && bytes.Contains(picture.Bytes(), []byte("<svg"))) {
			t.Errorf("%s: the picture is answered with %d, %.40q", name, code, picture.Bytes())
		}
	}
	for what, refused := range map[string]struct {
		path string
		ask  map[string]any
		code int
	}{
		"an unknown view":        {"/tasks/other", ask, http.StatusNotFound},
		"a tolerance of 21 dB":   {"/tasks/check", with(ask, "within_db", 21), http.StatusUnprocessableEntity},
		"a class without mixes":  {"/tasks/class", with(ask, "mixes", nil), http.StatusUnprocessableEntity},
		"no reference":           {"/tasks/check", with(ask, "references", nil), http.StatusUnprocessableEntity},
		"a mix that is not here": {"/tasks/nearest", with(ask, "mix", "x"), http.StatusUnprocessableEntity},
	} {
		var why userError
		if code := v.post(refused.path, refused.ask, &why); code != refused.code || why.Hint == "" {
			t.Errorf("%s is answered with %d, %+v", what, code, why)
		}
	}
	settings := json.RawMessage(`{"version": 1, "rate_hz": 44100, "trim_db": 0, "moves": [{"shape": "bell", "freq_hz": 1000, "gain_db": 2, "q": 1}]}`)
	for _, already := range []any{nil, settings} {
		got := v.task("nearest", with(ask, "already", already))
		want := 0
		if already != nil {
			want = 1
		}
		if n := strings.Count(fmt.Sprint(got.Outcome.Blocks), "Taken as bounced through the moves of the earlier round, and judged without them."); n != want {
			t.Errorf("nearest with the earlier moves %s: %+v", already, got.Outcome.Blocks)
		}
	}
	got := v.task("check", ask)
	v.ask("DELETE", "/recordings/"+before, nil, nil)
	if code := v.ask("GET", "/tasks/"+got.ID, nil, &userError{}); code != http.StatusNotFound {
		t.Errorf("what was found of a recording that is gone is answered with %d", code)
	}
}

// The file of an outcome whose name has an end.
func (v *visit) file(of taskState, end string) []byte {
	v.t.Helper()
	for _, f := range of.Outcome.Files {
		if strings.HasSuffix(f.Name, end) {
			var content bytes.Buffer
			if code := v.ask("GET", "/tasks/"+of.ID+"/files/"+url.PathEscape(f.Name), nil, &content); code != http.StatusOK {
				v.t.Fatalf("%s is answered with %d", f.Name, code)
			}
			return content.Bytes()
		}
	}
	v.t.Fatalf("there is no %s", end)
	return nil
}

// A task that is ended stops and is forgotten.
func TestEndTask(t *testing.T) {
	v := enter(t)
	mix, ref := v.drop("m.wav", sound(t, 12, 1)), v.drop("r.wav", sound(t, 12, 2))
	v.measured(mix)
	v.measured(ref)
	for range cap(v.server.quick.places) { // no place to work
		v.server.quick.places <- struct{}{}
	}
	var begun struct{ ID string }
	v.post("/tasks/check", usual(mix, ref), &begun)
	if code := v.ask("DELETE", "/tasks/"+begun.ID, nil, nil); code != http.StatusNoContent {
		t.Errorf("ending a task is answered with %d", code)
	}
	v.server.tasks.work.Wait() // without a place
	if code := v.ask("GET", "/tasks/"+begun.ID, nil, &userError{}); code != http.StatusNotFound {
		t.Errorf("a task that was ended is answered with %d", code)
	}
	for range cap(v.server.quick.places) {
		<-v.server.quick.places
	}
}

// answered is true once the outcome of the view that is shown is there.
const answered = `!byId("outcome").hidden && !byId("outcome").classList.contains("waiting") && [...document.querySelectorAll("#outcome-picture img")].every((e) => e.complete && e.naturalWidth > 0)`

// Through the views with one mix and references that were dropped once: each shows its
// outcome inside the window, the browser's way back works, and files are handed out.
func TestThroughTheViews(t *testing.T) {
	v := start(t)
	b := v.open()
	b.rough()
	b.click(`#views a[href="#check"]`)
	b.Until(answered)
	b.Want("what is shown", `[byId("found").closest("[data-for]").hidden, document.title, byId("files-summary").textContent].join("|")`,
		"true|Checking a finished mix|mix rough mix.wav · reference reference.wav")
	b.inside("#outcome-headline", "#outcome-picture img", "#outcome-first table")
	first := b.textOf("outcome-headline")
	b.setField("#check-within", "0.5")
	b.Until(answered + ` && byId("outcome-headline").innerText !== ` + fmt.Sprintf("%q", first))
	b.dropAs("before", "monday.wav", onDisk(t, sound(t, 24, 1)))
	b.Until(answered + ` && byId("outcome-more").innerText.includes("Since monday.wav")`)
	b.click(`#outcome-files a[download$=".json"]`)
	if raw := b.downloaded("rough mix check.json"); !bytes.Contains(raw, []byte(`"monday.wav"`)) {
		t.Errorf("the document is %.60q", raw)
	}
	b.click(`#views a[href="#nearest"]`)
	b.Until(answered + ` && byId("outcome-first").innerText.includes("low end")`)
	b.click(`#views a[href="#class"]`)
	b.Want("what is missing", `byId("next-step").textContent`, "Now choose the mixes.")
	b.dropOn("anna.wav", onDisk(t, sound(t, 12, 1, faults...)), "ben.wav", onDisk(t, sound(t, 12, 4)))
	b.Until(answered + ` && document.querySelectorAll("#outcome-first tbody tr").length === 2`)
	b.click(`#outcome-files a[download$=".csv"]`)
	if raw := b.downloaded("class.csv"); !bytes.Contains(raw, []byte("anna.wav")) {
		t.Errorf("the table is %.60q", raw)
	}
	b.Text(`history.go(-2)`)
	b.Until(`view.name === "check" && ` + answered)
	b.Text(`history.back()`)
	b.Until(`view.name === "match" && ` + settled)
	b.Want("roles", `files.map(({ role }) => role).sort().join()`, "before,class,class,mix,reference")
	// A new mix takes the place of the old one, which is the earlier mix from then on.
	b.dropAs("mix", "tuesday.wav", onDisk(t, sound(t, 12, 3)))
	b.Until(`readyOf("mix")[0]?.name === "tuesday.wav" && ` + settled)
	b.Want("the earlier mix", `readyOf("before").map(({ name }) => name).join()`, "rough mix.wav")
	b.Quiet()
}

// A link to a place within a view makes no step of the browser's: the way back leads to the view before.
func TestWayBackAfterTakeAway(t *testing.T) {
	v := start(t)
	b := v.open()
	b.rough()
	b.click(`#views a[href="#check"]`)
	b.Until(answered)
	b.click(`#views a[href="#match"]`)
	b.Until(settled)
	b.click(`a[href="#heading-export"]`)
	b.Until(`document.activeElement.id === "heading-export" && scrollY > 0`)
	b.Want("the address", `location.hash`, "#match")
	b.Text(`history.back()`)
	b.Until(`view.name === "check" && ` + answered)
	b.Quiet()
}

// opens unfolds what can be unfolded in a view, or folds it as it was.
func (b *tab) opens(open bool) {
	b.T.Helper()
	b.Text(fmt.Sprintf(`(openFiles(%[1]v || byId("files-line").hidden), document.querySelectorAll("details").forEach((d) => (d.open = %[1]v)))`, open))
}

// setField puts a value in a field, as set does, and waits for nothing.
func (b *tab) setField(selector, value string) {
	b.T.Helper()
	b.Text(fmt.Sprintf(`(() => { const field = document.querySelector(%q); field.value = %q; field.dispatchEvent(new Event("change", { bubbles: true })); })()`, selector, value))
}

// inside checks that parts of the page are inside 1280 by 800.
func (b *tab) inside(parts ...string) {
	b.T.Helper()
	for _, part := range parts {
		box := browser.Eval[[]float64](b.Tab, fmt.Sprintf(`(({ top, bottom, left, right }) => [top, bottom, left, right])(document.querySelector(%q).getBoundingClientRect())`, part))
		if box[0] < 0 || box[1] > 800 || box[2] < 0 || box[3] > 1280 || box[1]-box[0] < 10 {
			b.T.Errorf("%s is at %.0f to %.0f, %.0f to %.0f", part, box[0], box[1], box[2], box[3])
		}
	}
}
