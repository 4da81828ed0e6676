package serve

import (
	"os"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match/internal/browser"
	"toneplumb/match/job"
)

// Documents that are dropped are taken as what they are, and one's own equaliser is kept for
// the next start of the page and for the command line.
func TestDocuments(t *testing.T) {
	t.Setenv("XDG_CONFIG_HOME", t.TempDir()) // what is kept here, no other test may find
	v := start(t)
	b := v.open()
	b.rough()
	b.dropOn("desk.json", onDisk(t, []byte(`{"version": 1, "name": "the desk", "shapes": [{"shape": "bell", "count": 3}]}`)))
	b.Until(`app.fields.equaliser_name === "the desk" && ` + settled)
	b.Text(`byId("keep-equaliser").click()`)
	b.Until(`isKept() && byId("keep-equaliser").hidden`)
	path, _ := job.KeptEqualiser()
	if e, err := job.ReadEqualiser(path, nil); err != nil || e.Limits(biquad.Bell).Count != 3 {
		t.Errorf("kept is %+v, %v", e, err)
	}
	next := start(t).open()
	next.Until(`app.fields.equaliser_name === "the desk"`)
	next.Want("it is said", `byId("equaliser-name").textContent`, "The moves are for the desk, which you keep.")
	next.rough()
	next.Want("the dials", `app.answer.dials.map(({ shape, count }) => shape + " " + count).join()`, "bell 3")
	next.dropOn("other.json", onDisk(t, []byte(`{"version": 1, "name": "the other", "shapes": [{"shape": "bell", "count": 2}]}`)))
	next.Until(`app.fields.equaliser_name === "the other" && !byId("keep-equaliser").hidden && ` + settled)
	next.Text(`byId("keep-equaliser").click()`)
	next.Until(`isKept()`)
	if e, err := job.ReadEqualiser(path, nil); err != nil || e.Limits(biquad.Bell).Count != 2 {
		t.Errorf("kept in its place is %+v, %v", e, err)
	}
	next.Text(`byId("forget-equaliser").click()`)
	next.Until(`kept.equaliser === null && byId("forget-equaliser").hidden`)
	if _, err := os.Stat(path); err == nil {
		t.Error("the equaliser is still kept")
	}
	wide := "\xff\xfe" // UTF-16, as an editor may save it and --keep keeps it
	for _, c := range `{"version": 1, "name": "wide", "shapes": [{"shape": "bell"}]}` {
		wide += string(c) + "\x00"
	}
	if err := os.WriteFile(path, []byte(wide), 0o600); err != nil {
		t.Fatal(err)
	}
	start(t).open().Until(`app.fields.equaliser_name === "wide" && isKept()`)
	next.Quiet()
	b.Text(`byId("usual-equaliser").click()`)
	b.Until(settled)

	b.dropOn("tuesday settings.json", onDisk(t, []byte(`{"version": 1, "rate_hz": 44100, "moves": [{"shape": "bell", "freq_hz": 425, "gain_db": -2.5, "q": 0.8}], "trim_db": 0.6}`)))
	b.Until(`!byId("settings-offer").hidden`)
	b.Text(`byId("settings-show").click()`)
	b.Until(`app.fields.dialled?.length === 1 && byId("settings-offer").hidden && ` + settled)
	b.Want("the set", `[shownMoves()[0].freq_hz, shownMoves()[0].gain_db, keptSets[0].name].join()`, "425,-2.5,tuesday settings")
	b.dropOn("tuesday settings.json", onDisk(t, []byte(`{"version": 1, "rate_hz": 44100, "moves": [{"shape": "bell", "freq_hz": 425, "gain_db": -2.5, "q": 0.8}], "trim_db": 0.6}`)))
	b.Until(`!byId("settings-offer").hidden`)
	b.Text(`byId("settings-bounced").click()`)
	b.Until(`app.answer.as_bounced_db !== null && ` + settled)

	b.click(`[data-export="profile.json"]`)
	b.dropOn("house.json", onDisk(t, b.downloaded("rough mix profile.json")))
	b.Until(`files.some(({ name, role, state, profile }) => name === "house.json" && role === "reference" && state === "ready" && profile === 1)`)
	b.Quiet()
}

// While blind trials run the moves cannot be changed, also not by undo.
func TestTrialsFreeze(t *testing.T) {
	v := start(t)
	b := v.open()
	b.rough()
	b.set("#toward", "80")
	b.Until(`heard !== null && !byId("player").hidden`)
	browser.Eval[bool](b.Tab, `(heard.transport.setVolume(-60), byId("listen-open").click(), true)`)
	b.Click("#trial-start")
	b.Until(`heard.blind()`)
	b.Want("frozen", `[".moves-here", ".adjust", "#files", "#views"].map((s) => document.querySelector(s).inert).join()`, "true,true,true,true")
	b.Text(`undo()`)
	b.Want("after undo", `app.fields.toward_percent`, "80")
	b.Click("#trial-stop")
	b.Until(`!heard.blind() && !document.querySelector(".moves-here").inert`)
	b.Text(`undo()`)
	b.Until(`app.fields.toward_percent === 60 && ` + settled)
	b.Quiet()
}

// Another equaliser puts moves set by hand aside; the page says so, and undo brings them back.
func TestPutAside(t *testing.T) {
	v := start(t)
	b := v.open()
	b.rough()
	b.set("#rows li:first-of-type [data-name=gain_db] input[type=text]", "-4")
	before := b.Text(`JSON.stringify(shownMoves())`)
	b.Want("before", `byId("put-aside").hidden`, "true")
	b.dropOn("mine.json", onDisk(t, []byte(`{"version": 1, "name": "mine", "shapes": [{"shape": "bell", "count": 2}]}`)))
	b.Until(settled + ` && app.fields.equaliser !== null`)
	b.Want("moves set by hand", `app.fields.dialled`, "null")
	gain := `document.querySelector("#rows [data-name=gain_db] input[type=text]")`
	b.Text(`(` + gain + `.value = "12", ` + gain + `.dispatchEvent(new Event("change")), 0)`)
	b.Want("what is said of 12 dB", `byId(`+gain+`.getAttribute("aria-describedby")).textContent`, "At most 6.0 dB: the equaliser's description ends there.")
	b.Until(settled)
	b.click("#undo")
	b.Until(settled)
	b.Want("what is said", `byId("put-aside").checkVisibility() && byId("put-aside").textContent`, "Your moves were for the other equaliser: Undo brings them back.")
	b.click("#undo")
	b.Until(settled)
	b.Want("after undo", `[byId("put-aside").hidden, app.fields.equaliser, JSON.stringify(shownMoves())].join("|")`, "true||"+before)
	b.Quiet()
}
