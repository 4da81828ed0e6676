package serve

import (
	"bytes"
	"cmp"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"toneplumb/biquad"
	"toneplumb/match/artefact"
	"toneplumb/match/document"
	"toneplumb/match/internal/browser"
	"toneplumb/match/probe"
	"toneplumb/match/report"
	"toneplumb/match/training"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/testkit"
)

// task asks for a view and waits for its end.
func (v *visit) task(name string, ask any) taskState {
	v.t.Helper()
	var begun struct{ ID string }
	if code := v.post("/tasks/"+name, ask, &begun); code != http.StatusCreated {
		v.t.Fatalf("%s is answered with %d", name, code)
	}
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(5 * time.Millisecond) {
		var state taskState
		if code := v.ask("GET", "/tasks/"+begun.ID, nil, &state); code != http.StatusOK {
			v.t.Fatalf("asking for %s is answered with %d", name, code)
		}
		if state.State == ready || state.State == failed {
			return state
		}
	}
	v.t.Fatalf("%s is not done after a minute", name)
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
		"class":   {"2 mixes: none is off.", len(artefact.Class)},
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

// An exercise is made and its sheets are marked: with the password alone, and one that is
// broken stops no other.
func TestTraining(t *testing.T) {
	testkit.Skip(t, "makes an exercise")
	v := enter(t)
	mix := v.drop("mix.wav", sound(t, 12, 1))
	v.measured(mix)
	ask := with(with(with(with(usual(mix), "renders", 2), "difficulty", "easy"), "number", 3), "password", "three words here")
	made := v.task("exercise", ask)
	if made.Outcome == nil || len(made.Outcome.Files) != 4 {
		t.Fatalf("the exercise is %+v", made)
	}
	if page := v.file(made, ".html"); !bytes.HasPrefix(page, []byte("<!DOCTYPE html>")) {
		t.Errorf("the page is %.40q", page)
	}
	answers := string(v.file(made, ".answers.json"))
	a, err := training.Open(strings.NewReader(answers), "three words here")
	if err != nil || len(a.Tasks) != 2 {
		t.Fatalf("the answers are %+v, %v", a, err)
	}
	sheet := string(v.file(made, "sheet.csv"))
	for i, task := range a.Tasks {
		sheet += fmt.Sprintf("%d,%s,%g,%g,%g\n", i+1, task[0].Shape, task[0].FreqHz, task[0].GainDB, task[0].Q)
	}
	mark := map[string]any{"range_hz": []float64{40, 16000}, "smooth_oct": 0.3333, "toward_percent": 60, "answers": answers, "password": "three words here",
		"sheets": []namedText{{"anna.csv", sheet}, {"ben.csv", "no sheet"}}}
	marked := v.task("marking", mark)
	if marked.Outcome == nil || marked.Outcome.Headline != "1 sheet marked: 2 renders of mix.wav, easy; 1 could not be marked." {
		t.Fatalf("the marks are %+v %+v", marked.Trouble, marked.Outcome)
	}
	if row := marked.Outcome.Blocks[0].Rows[0]; row[0] != "anna" || row[1] != "100 %" {
		t.Errorf("who knows everything has %q", row)
	}
	again := v.task("marking", with(mark, "earlier", []namedText{{"marks.json", string(v.file(marked, ".json"))}}))
	if again.Outcome == nil || !strings.Contains(fmt.Sprint(again.Outcome.Blocks), "easy: 100 %") {
		t.Errorf("beside earlier marks: %+v", again)
	}
	for what, bad := range map[string]map[string]any{"without a password": with(mark, "password", ""), "with another": with(mark, "password", "x"), "without sheets": with(mark, "sheets", nil)} {
		if got := v.task("marking", bad); got.Trouble == nil || got.Trouble.Hint == "" {
			t.Errorf("%s: %+v", what, got)
		}
	}
	// The next lesson: a course's, with what was missed.
	next := v.task("exercise", with(with(with(ask, "lesson", "2/8"), "earlier", []namedText{{"marks.json", string(v.file(marked, ".json"))}}), "password", ""))
	if next.Outcome == nil {
		t.Fatalf("the lesson is %+v", next.Trouble)
	}
	if lesson, err := training.Open(bytes.NewReader(v.file(next, ".answers.json")), ""); err != nil || lesson.Rules.Name != training.Lesson(2, 8).Name {
		t.Errorf("the lesson's answers are %+v, %v", lesson, err)
	}
	for what, bad := range map[string]map[string]any{"lesson 9 of 8": with(ask, "lesson", "9/8"), "marks that are none": with(ask, "earlier", []namedText{{"x.json", "{}"}}), "no difficulty": with(ask, "difficulty", "none"), "no renders": with(ask, "renders", 0), "a part beyond the end": with(ask, "part_s", []float64{60, 70})} {
		if got := v.task("exercise", bad); got.Trouble == nil || got.Trouble.Hint == "" {
			t.Errorf("%s: %+v", what, got)
		}
	}
}

// prints are the probe through an equaliser whose bells are as the cookbook has them.
func prints(t testing.TB, v *visit) (files map[string][]byte) {
	t.Helper()
	files = map[string][]byte{}
	for _, p := range probe.Plan()[:4] {
		const rate = 48000
		x := probe.Probe{RateHz: rate}.Sound(rate)
		if !p.Flat {
			biquad.NewCascade([]biquad.Filter{{Shape: p.Shape, FreqHz: p.FreqHz, GainDB: p.GainDB, Q: p.Width}}, rate, 1).Run([][]float64{x})
		}
		path := filepath.Join(t.TempDir(), "print.wav")
		out, err := audio.CreateWAV(path, rate, 1, audio.PCM24)
		if err != nil {
			t.Fatal(err)
		}
		if err := cmp.Or(out.Write([][]float64{x}), out.Close()); err != nil {
			t.Fatal(err)
		}
		if files[fmt.Sprintf("print-%d.wav", p.Number)], err = os.ReadFile(path); err != nil {
			t.Fatal(err)
		}
	}
	return files
}

// An equaliser is learnt from prints of the probe that the page hands out.
func TestLearnEqualiser(t *testing.T) {
	testkit.Skip(t, "reads prints")
	v := enter(t)
	var wav bytes.Buffer
	if code := v.ask("GET", "/probe?rate=48000", nil, &wav); code != http.StatusOK || !bytes.HasPrefix(wav.Bytes(), []byte("RIFF")) {
		t.Fatalf("the probe is answered with %d, %.20q", code, wav.Bytes())
	}
	var ids []string
	for name, raw := range prints(t, v) {
		id := v.drop(name, raw)
		if s := v.measured(id); s.State != ready {
			t.Fatalf("%s is %+v", name, s)
		}
		ids = append(ids, id)
	}
	ask := with(with(usual(""), "prints", ids), "probe_hz", 48000)
	got := v.task("equaliser", ask)
	if got.Outcome == nil || len(got.Outcome.Files) != 1 {
		t.Fatalf("learnt is %+v %+v", got, got.Trouble)
	}
	if e, err := document.ParseEqualiser(got.Outcome.Equaliser); err != nil || e.Limits(biquad.Bell).Count == 0 {
		t.Errorf("the description is %s, %v", got.Outcome.Equaliser, err)
	}
	if got := v.task("equaliser", with(ask, "prints", append(ids, ids[0]))); got.Trouble == nil || strings.Contains(got.Trouble.What+got.Trouble.Hint, v.server.folder) {
		t.Errorf("a print given twice: %+v", got)
	}
}

// A task that is ended stops and is forgotten.
func TestEndTask(t *testing.T) {
	v := enter(t)
	mix, ref := v.drop("m.wav", sound(t, 12, 1)), v.drop("r.wav", sound(t, 12, 2))
	v.measured(mix)
	v.measured(ref)
	for range cap(v.server.quick) { // no place to work
		v.server.quick <- struct{}{}
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
	for range cap(v.server.quick) {
		<-v.server.quick
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

// opens unfolds what can be unfolded in a view, or folds it.
func (b *tab) opens(open bool) {
	b.T.Helper()
	b.Text(fmt.Sprintf(`(openFiles(%[1]v), document.querySelectorAll("details").forEach((d) => (d.open = %[1]v)))`, open))
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

// lesson is the answers of an exercise.
func lesson(t testing.TB) []byte {
	t.Helper()
	var b bytes.Buffer
	bell := func(hz, db float64) []biquad.Filter {
		return []biquad.Filter{{Shape: biquad.Bell, FreqHz: hz, GainDB: db, Q: 1}}
	}
	a := &training.Answers{Mix: "evening.wav", Rules: training.Medium.Rules(), RateHz: 44100, Tasks: [][]biquad.Filter{bell(1000, 4), bell(250, -3)}}
	if err := a.Seal(&b, ""); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// TestLooksOfViews is TestLooks for the other views: two looks of each, and all where pictures
// are asked for.
func TestLooksOfViews(t *testing.T) {
	v := start(t)
	b := v.open()
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
	pictures := os.Getenv("TONEPLUMB_SHOTS") != ""
	for _, name := range browser.Eval[[]string](b.Tab, `Object.keys(VIEWS).slice(1)`) {
		b.click(fmt.Sprintf(`#views a[href="#%s"]`, name))
		b.Until(fmt.Sprintf(`view.name === %q`, name))
		there := answered
		if name == "exercise" { // which takes long to be made
			there = "true"
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
		if folder := os.Getenv("TONEPLUMB_SHOTS"); folder != "" {
			if err := os.WriteFile(filepath.Join(folder, "view-"+name+".pdf"), b.PDF(), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
	b.Quiet()
}
