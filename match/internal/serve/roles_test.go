package serve

import (
	"bytes"
	"fmt"
	"net/http"
	"testing"
)

// A file that cannot be read takes no place: the mix, the earlier mix and the references stay, with
// their moves, on the page and on the server.
func TestWrongFileTakesNoPlace(t *testing.T) {
	v := start(t)
	b := v.open()
	b.rough()
	b.set("#rows li:first-of-type [data-name=gain_db] input[type=text]", "2")
	shown := b.Text(`JSON.stringify(shownMoves())`)
	notes := onDisk(t, []byte("call Anna about the snare"))
	b.dropAs("mix", "notes.txt", notes)
	b.Until(`files[2]?.state === "failed" && ` + settled)
	b.dropAs("reference", "words.txt", notes)
	b.Until(`files[3]?.state === "failed" && ` + settled)
	b.click(`#views a[href="#check"]`)
	b.Until(answered)
	b.dropAs("before", "monday.wav", onDisk(t, sound(t, 12, 1)))
	b.Until(`files[4]?.state === "ready" && ` + answered)
	b.dropAs("before", "dates.txt", notes)
	b.Until(`files[5]?.state === "failed" && ` + answered)
	b.click(`#views a[href="#match"]`)
	b.Until(settled)
	b.Want("what is used", `["mix", "reference", "before"].map((role) => readyOf(role).map(({ name }) => name)).join()`, "rough mix.wav,reference.wav,monday.wav")
	b.dropOn("eq.json", onDisk(t, []byte(`{"version": 1, "shapes": [{"shape": "brick"}]}`)))
	b.Until(`byId("trouble").textContent.includes("the equaliser's description")`)
	b.Want("the equaliser", `app.fields.equaliser`, "null")
	b.Want("what is next", `byId("next-step").textContent`, "")
	b.Want("what is told", `byId("files-failed").textContent + document.querySelectorAll(".file-row.failed").length`, "3 files are not usable.3")
	b.Want("the moves", `JSON.stringify(shownMoves())`, shown)
	for name, want := range map[string]string{"rough mix.wav": asMix, "reference.wav": asReference, "monday.wav": asBefore, "notes.txt": notUsed, "dates.txt": notUsed} {
		for _, rec := range v.server.uploads.list() {
			if got := rec.status(); got.Name == name && (got.Role != want || got.Next != "") {
				t.Errorf("the server takes %s for %q, then %q, want %q", name, got.Role, got.Next, want)
			}
		}
	}
	b.Quiet("422")
}

// A profile of several recordings is a reference, and no mix: it does not take the place of one.
func TestProfileIsNoMix(t *testing.T) {
	v := start(t)
	b := v.open()
	b.rough()
	b.dropAs("reference", "second.wav", onDisk(t, sound(t, 24, 4)))
	b.Until(`app.references.length === 2 && ` + settled)
	b.click(`[data-export="profile.json"]`)
	profile := onDisk(t, b.downloaded("rough mix profile.json"))
	b.dropAs("mix", "references.json", profile)
	b.Until(`files[3]?.state === "ready" && byId("trouble").textContent.includes("a mix is one")`)
	b.Want("what is used", `["mix", "before"].map((role) => readyOf(role).map(({ name }) => name)).join()`, "rough mix.wav,")
	if got := v.server.uploads.list()[3].status(); got.Role != notUsed || got.Next != "" {
		t.Errorf("the server takes it for %q, then %q", got.Role, got.Next)
	}
	b.Quiet()
}

// A reload keeps the roles of every view, and the order of the recordings in each: that of the
// dropping, also where a later one arrived first.
func TestReloadKeepsRolesOfOtherViews(t *testing.T) {
	v := start(t)
	b := v.open()
	b.rough()
	short := onDisk(t, sound(t, 5, 3))
	b.dropAs("reference", "second.wav", onDisk(t, sound(t, 24, 4)), "first.wav", short)
	b.Until(`app.references.length === 3 && ` + settled)
	for _, drop := range [][2]string{{"class", "anna.wav"}, {"track", "bass.wav"}, {"print", "print.wav"}, {"before", "monday.wav"}} {
		b.dropAs(drop[0], drop[1], short)
		b.Until(`files.every(({ state }) => state === "ready") && files.at(-1).name === "` + drop[1] + `" && ` + settled)
	}
	const roles, want = `files.map(({ name, role }) => name + " " + role).join()`, "rough mix.wav mix,reference.wav reference,second.wav reference,first.wav reference,anna.wav class,bass.wav track,print.wav print,monday.wav before"
	b.Want("roles", roles, want)
	b.Reload()
	b.Until(settled)
	b.Want("roles after a reload", roles, want)
	b.Reload()
	b.Until(settled)
	b.Want("roles after another", roles, want)
	b.Quiet()
}

// The page says which place a recording has among the others, since they arrive in any order.
func TestOrderOfRecordings(t *testing.T) {
	v := enter(t)
	short := sound(t, 5, 3)
	for _, query := range []string{"name=c&number=3", "name=a&number=1", "name=d", "name=b&number=2", "name=e&number=x"} {
		if code := v.ask("POST", "/recordings?role=reference&"+query, bytes.NewReader(short), nil); code != http.StatusCreated {
			t.Fatalf("%s is answered with %d", query, code)
		}
	}
	got := ""
	for _, rec := range v.server.uploads.list() {
		got += rec.name
	}
	if got != "abcde" {
		t.Errorf("the order is %s", got)
	}
}

// A reference that is dropped twice counts once, which is said.
func TestReferenceTwice(t *testing.T) {
	v := start(t)
	b := v.open()
	b.rough()
	b.dropAs("reference", "again.wav", onDisk(t, sound(t, 24, 2)))
	b.Until(`files[2]?.state === "ready" && app.references.length === 2 && ` + settled)
	said := `document.querySelectorAll(".file-row .how")[2].textContent`
	b.Want("of the second", said, b.Text(`clock(files[2].duration_s)`)+" · the same recording as “reference.wav”: it counts once")
	b.Want("what is compared", `app.answer.words.recordings.length`, "2")
	b.Text(`(removeFile(files[1]), 0)`)
	b.Until(settled)
	b.Want("alone", `document.querySelectorAll(".file-row .how")[1].textContent.includes("counts once")`, "false")
	b.Quiet()
}

// The references that are to be used together are taken by a button; with nothing to choose there is none.
func TestUseTogether(t *testing.T) {
	v := start(t)
	b := v.open()
	b.rough()
	b.click(`#views a[href="#nearest"]`)
	b.Until(answered)
	b.Want("with one reference", `byId("use-together").hidden`, "true")
	for i := range 4 {
		b.dropAs("reference", fmt.Sprintf("song %d.wav", i), onDisk(t, sound(t, 12, 4+uint64(i))))
	}
	b.Until(`readyOf("reference").length === 5 && ` + answered + ` && byId("outcome-headline").textContent.includes("Use together: ") && !byId("use-together").hidden`)
	names := b.Text(`byId("outcome-headline").textContent.split("Use together: ")[1].replace(/[.]$/, "").split(", ").sort().join()`)
	b.click("#use-together")
	b.Until(`view.name === "match" && app.references.length === 3 && ` + settled)
	b.Want("the references", `readyOf("reference").map(({ name }) => name).sort().join()`, names)
	b.Want("the others", `files.filter(({ role }) => role === "none").length`, "2")
	b.Quiet()
}
