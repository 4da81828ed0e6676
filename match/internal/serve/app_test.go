package serve

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"toneplumb/match/internal/browser"
)

// onDisk writes content to a file of the test.
func onDisk(t testing.TB, content []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "x")
	if err := os.WriteFile(path, content, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// From two recordings that are dropped to everything that can be taken away.
func TestDropToDownload(t *testing.T) {
	v := start(t)
	b := v.open()
	b.Shot("empty")
	b.dropOn("rough mix.wav", onDisk(t, sound(t, 24, 1, faults...)), "reference.wav", onDisk(t, sound(t, 24, 2)))
	b.Until(settled)
	b.Shot("found")
	if n := b.Text(`document.querySelectorAll("#rows li").length`); n != b.Text(`app.answer.advised.length`) || n == "0" {
		t.Errorf("%s rows of moves", n)
	}
	b.Until(`/^−[0-9.]+ dBTP$/.test(document.getElementById("true-peak-after").textContent)`) // in the background, unasked
	for button, start := range map[string]string{"chart.png": "\x89PNG", "handout.pdf": "%PDF-", "settings.json": "{", "page.html": "<!DOCTYPE html>", "profile.json": "{", "mix.wav": "RIFF"} {
		browser.Eval[bool](b.Tab, `document.querySelector("[data-export='`+button+`']").click() ?? true`)
		name := "rough mix " + button
		if button == "mix.wav" {
			name = "rough mix through the moves.wav"
		}
		if raw := b.downloaded(name); !bytes.HasPrefix(raw, []byte(start)) {
			t.Errorf("%s begins with %.20q", name, raw)
		}
	}
	b.Quiet()
}

// While the mix is being rendered its button stays off, also when an answer comes; what the answer says
// of the button holds afterwards.
func TestRenderedOnce(t *testing.T) {
	v := start(t)
	b := v.open()
	b.dropOn("rough mix.wav", onDisk(t, sound(t, 12, 1, faults...)), "reference.wav", onDisk(t, sound(t, 12, 2)))
	b.Until(settled)
	b.Until(`app.answer.confirmed !== null`)
	places := v.server.uploads.free.places
	for range cap(places) { // no place to render
		places <- struct{}{}
	}
	button := `document.querySelector("[data-export='mix.wav']")`
	b.click("[data-export='mix.wav']")
	b.Want("the button is off", button+".disabled", "true")
	b.set("#max-moves", "2")
	b.Want("the button is off after an answer", button+".disabled", "true")
	b.set("#max-moves", "0")
	for range cap(places) {
		<-places
	}
	b.downloaded("rough mix through the moves.wav")
	b.Until(`byId("export-state").textContent.includes("handed")`)
	b.Want("the button is off without moves", button+".disabled", "true")
	b.set("#max-moves", "2")
	b.Want("the button is off with moves", button+".disabled", "false")
	b.Quiet()
}

// set puts a value in a field as typing it and leaving the field does.
func (b *tab) set(selector, value string) {
	b.T.Helper()
	browser.Eval[bool](b.Tab, fmt.Sprintf(`(() => {
		const field = document.querySelector(%q);
		if (field.type === "checkbox") field.checked = %[2]q === "true";
		else field.value = %[2]q;
		field.dispatchEvent(new Event("change"));
		return true;
	})()`, selector, value))
	b.Until(settled)
}

func (b *tab) click(selector string) {
	b.T.Helper()
	browser.Eval[bool](b.Tab, fmt.Sprintf(`document.querySelector(%q).click() ?? true`, selector))
}

// rough drops the usual pair and waits for its moves.
func (b *tab) rough() {
	b.T.Helper()
	b.dropOn("rough mix.wav", onDisk(b.T, sound(b.T, 24, 1, faults...)), "reference.wav", onDisk(b.T, sound(b.T, 24, 2)))
	b.Until(settled)
}

// Each field changes what it says, undo takes it back, redo brings it again, and a move
// set by hand is marked.
func TestAdjust(t *testing.T) {
	v := start(t)
	b := v.open()
	b.rough()
	asShown := func() string {
		return b.Text(`JSON.stringify([shownMoves(), app.answer.distance_before_db, app.answer.distance_after_db, document.getElementById("chart").innerHTML.length])`)
	}
	first := asShown()
	states := []string{first}
	for _, field := range []struct{ selector, value string }{
		{"#max-moves", "1"}, {"#toward", "100"}, {"#smooth", "1"}, {"#max-moves", "2"}, {"#range-low", "200"}, {"#range-high", "8000"},
		{"#loudest", "10"}, {"#mix-times", "0:00-0:12"}, {"#ref-times", "3-24"},
		{"#rows li:first-of-type [data-name=gain_db] input[type=text]", "3"},
		{"#rows li:first-of-type input[type=checkbox]", "false"},
	} {
		b.set(field.selector, field.value)
		if now := asShown(); now == states[len(states)-1] {
			t.Errorf("%s at %s changes nothing", field.selector, field.value)
		} else {
			states = append(states, now)
		}
	}
	if got := b.Text(`document.querySelector("#rows .mark").textContent`); got != "Off. " {
		t.Errorf("the move that is off is marked %q", got)
	}
	b.Shot("adjusted")
	for i := len(states) - 2; i >= 0; i-- {
		b.click("#undo")
		b.Until(settled)
		if now := asShown(); now != states[i] {
			t.Errorf("undo to step %d gives\n%s, it was\n%s", i, now, states[i])
		}
	}
	if b.Text(`document.getElementById("undo").disabled`) != "true" {
		t.Error("there is more to undo")
	}
	for i := 1; i < len(states); i++ {
		b.click("#redo")
		b.Until(settled)
		if now := asShown(); now != states[i] {
			t.Errorf("redo to step %d gives\n%s, it was\n%s", i, now, states[i])
		}
	}

	// By its steppers a field goes along the equaliser's steps, and by the arrow keys.
	b.click("#as-advised")
	b.Until(settled)
	b.click("#undo")
	b.Until(settled)
	b.set("#rows li:first-of-type [data-name=freq_hz] input[type=text]", "1000")
	b.click("#rows li:first-of-type [data-name=freq_hz] button:last-of-type")
	b.Until(settled)
	if got := b.Text(`shownMoves()[0].freq_hz`); got != "1060" { // R40: 1000, 1060
		t.Errorf("a step up from 1000 Hz is %s", got)
	}
	browser.Eval[bool](b.Tab, `document.querySelector("#rows li:first-of-type [data-name=gain_db] input[type=text]").dispatchEvent(new KeyboardEvent("keydown", { key: "ArrowDown", bubbles: true }))`)
	b.Until(settled)
	if got := b.Text(`shownMoves()[0].gain_db`); got != "2.5" {
		t.Errorf("a step down from 3 dB is %s", got)
	}
	before := b.Text(`shownMoves().length`)
	b.click("#add-move")
	b.Until(settled)
	if b.Text(`shownMoves().length`) == before {
		t.Error("no move was added")
	}
	b.click("#rows li:last-of-type .drop-move")
	b.Until(settled)
	if b.Text(`shownMoves().length`) != before {
		t.Error("the move was not taken out")
	}
	b.set("#max-moves", "99")
	b.Want("99 moves, at their field", `byId("max-moves").value + " " + byId(byId("max-moves").getAttribute("aria-describedby")).textContent + " " + byId("max-moves").getAttribute("aria-invalid")`, "2 It goes from 0 to 8. true")
	b.Quiet()
}

// A part that was chosen of a reference goes with it: another one counts whole, now and
// when steps are undone.
func TestPartGoesWithItsReference(t *testing.T) {
	v := start(t)
	b := v.open()
	b.rough()
	b.set("#toward", "70")
	b.set("#ref-times", "0:06-0:24")
	b.set("#mix-times", "2-24")
	b.Want("a part", `JSON.stringify([app.fields.mix_part, app.fields.ref_part])`, `[[[2,24]],[[6,24]]]`)
	b.dropOn("other.wav", onDisk(t, sound(t, 8, 3)))
	b.Until(`files[2]?.state === "ready" && ` + settled)
	b.Text(`(files[1].choice.value = "none", files[1].choice.dispatchEvent(new Event("change")))`)
	b.Until(settled + ` && app.references.length === 1`)
	b.Want("parts", `JSON.stringify([app.fields.mix_part, app.fields.ref_part])`, `[[[2,24]],null]`)
	b.Want("on its strip", `byId("ref-times").value`, "")
	b.click("#undo")
	b.Until(settled)
	b.Want("after undo", `JSON.stringify([app.fields.mix_part, app.fields.ref_part, app.fields.toward_percent])`, `[null,null,70]`)
	b.click("#undo")
	b.Until(settled)
	b.Want("after another", `JSON.stringify([app.fields.ref_part, app.fields.toward_percent])`, `[null,60]`)
	b.Quiet()
}
