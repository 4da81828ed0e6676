package serve

import "testing"

// Kept work comes back with the files of its own job alone; those of other jobs are asked for in their
// views. Until then no advice takes the place of its moves, also over a reload.
func TestKeptWorkOfOneJob(t *testing.T) {
	v := start(t)
	b := v.open()
	mix, one, two, anna := onDisk(t, sound(t, 24, 1, faults...)), onDisk(t, sound(t, 24, 2)), onDisk(t, sound(t, 24, 4)), onDisk(t, sound(t, 5, 3))
	b.dropOn("rough mix.wav", mix, "one.wav", one, "two.wav", two)
	b.Until(`app.references.length === 2 && ` + settled)
	b.dropAs("class", "anna.wav", anna)
	b.Until(`files[3]?.state === "ready"`)
	b.set("#stage", "finished")
	b.set("#rows li:first-of-type [data-name=gain_db] input[type=text]", "2")
	const shown = `JSON.stringify([shownMoves(), byId("stage").value])`
	want := b.Text(shown)
	b.click("#keep-work")
	work := onDisk(t, b.downloaded("rough mix work.json"))
	b.Quiet()

	b = start(t).open()
	b.dropOn("my work.json", work)
	b.Until(`byId("work-words").textContent === "“my work.json” needs “rough mix.wav”, “one.wav”, “two.wav”: drop them here, and the moves come back."`)
	b.dropOn("rough mix.wav", mix, "one.wav", one)
	b.Until(`readyOf("mix").length === 1 && app.references.length === 1 && byId("work-words").textContent.includes("needs “two.wav”: drop it here, and")`)
	b.Want("advice", `app.answer === null && byId("found").hidden && asking === null`, "true")
	b.Reload()
	b.Until(`typeof files === "object" && byId("work-words").textContent.includes("needs “two.wav”: drop it here, and")`)
	b.Want("advice after a reload", `app.answer === null && byId("found").hidden && asking === null`, "true")
	b.dropOn("two.wav", two)
	b.Until(settled + ` && app.references.length === 2 && app.fields.dialled !== null`)
	b.Want("the moves", shown, want)
	b.Want("what is missing", `byId("work-missing").hidden`, "true")
	b.click(`#views a[href="#class"]`)
	b.Want("what is missing for the class", `byId("work-words").innerText`, "“my work.json” needs “anna.wav”: drop it here.")
	b.click(`#views a[href="#match"]`)
	b.dropOn("anna.wav", anna)
	b.Until(`readyOf("class").length === 1 && waitingWork === null && ` + settled)
	b.Want("the references", `readyOf("reference").map(({ name }) => name).join()`, "one.wav,two.wav")
	b.Want("the moves at the end", shown, want)
	b.Quiet()
}

// Who does not have a recording any more goes on without the work.
func TestWorkIsLeft(t *testing.T) {
	v := start(t)
	b := v.open()
	b.dropOn("my work.json", onDisk(t, []byte(`{"version": 1, "kind": "toneplumb work", "fields": {}, "recordings": [{"name": "gone.wav", "sha256": "00", "role": "mix"}]}`)))
	b.dropOn("rough mix.wav", onDisk(t, sound(t, 12, 1, faults...)), "reference.wav", onDisk(t, sound(t, 12, 2)))
	b.Until(`mixReady() && app.references.length === 1`)
	b.Want("what is shown", `byId("found").hidden + byId("work-words").innerText`, "true“my work.json” needs “gone.wav”: drop it here, and the moves come back.")
	b.click("#work-leave")
	b.Until(settled + ` && byId("work-missing").hidden`)
	b.Quiet()
}

// A reload keeps moves set by hand with their undo, and the sets, as long as the recordings are the
// same.
func TestReloadKeepsMoves(t *testing.T) {
	v := start(t)
	b := v.open()
	b.rough()
	b.set("#rows li:first-of-type [data-name=gain_db] input[type=text]", "2")
	b.click("#keep-set")
	b.set("#rows li:first-of-type [data-name=freq_hz] input[type=text]", "1000")
	const state = `JSON.stringify([shownMoves(), keptSets, app.past.length, document.querySelectorAll("#sets .kept-set").length])`
	want := b.Text(state)
	b.Reload()
	b.Until(settled)
	b.Want("after a reload", state, want)
	b.click("#undo")
	b.Until(settled)
	b.Want("undone", `shownMoves()[0].gain_db + " " + (shownMoves()[0].freq_hz === 1000)`, "2 false")
	b.click("#undo")
	b.Until(settled)
	b.Want("undone to the advice", `app.fields.dialled`, "null")
	b.click("#redo")
	b.Until(settled)
	b.Want("redone", `shownMoves()[0].gain_db`, "2")
	b.Quiet("beforeunload") // the browser was to ask, but nobody had touched the page
}
