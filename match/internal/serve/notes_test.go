package serve

import "testing"

// A note about what a field could not take goes with the next step, and is not printed.
func TestNotesGo(t *testing.T) {
	v := start(t)
	b := v.open()
	b.rough()
	const gain, notes = "#rows li:first-of-type [data-name=gain_db] input[type=text]", `[...document.querySelectorAll(".field-note")].map((e) => e.textContent).join("")`
	wrong := func(selector string) {
		t.Helper()
		b.set(selector, "abc")
		b.Want("the note", notes, "“abc” is no number.")
	}
	b.set("#toward", "70")
	b.set(gain, "2")
	wrong(gain)
	b.As(1280, 800, "print light")
	// Only Chromium can show it as printed.
	b.Want("a note on paper", `matchMedia("print").matches ? getComputedStyle(document.querySelector(".field-note.wrong")).display : "none"`, "none")
	b.As(1280, 800, "light")
	b.click("#as-advised")
	b.Until(settled)
	b.Want("notes after finding anew", notes, "")
	wrong("#toward")
	b.click("#undo")
	b.Until(settled)
	b.Want("notes after undo", notes, "")
	b.set("#max-moves", "2.6")
	b.Want("a note on what was set", notes, "Rounded to whole moves.")
	b.click("#undo")
	b.Until(settled)
	b.Want("notes after undoing that", notes+` + document.querySelectorAll("[aria-invalid]").length`, "0")
	b.Quiet()
}
