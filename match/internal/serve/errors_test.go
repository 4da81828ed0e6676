package serve

import (
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"toneplumb/match/job"
	"toneplumb/spectrum/testkit"
)

// Every error that can reach the page is two lines without the command line's words, which [wordWatch] looks for in all
// answers. With -v it lists them.
func TestErrorsOnThePage(t *testing.T) {
	testkit.Skip(t, "drives every view into its errors")
	t.Setenv("PATH", "/nowhere") // without ffmpeg
	t.Setenv("XDG_CONFIG_HOME", t.TempDir())
	v := enter(t)
	told := func(what string, why *userError) {
		t.Helper()
		if why == nil || why.Kind == "" || why.What == "" || why.Hint == "" {
			t.Errorf("%s: %+v", what, why)
			return
		}
		t.Logf("%s: %s\n\t%s", what, why.What, why.Hint)
	}
	whole := sound(t, 24, 1, faults...)
	const profileOf = `{"version": %s, "kind": "recordings without sound", "recordings": [%s]}`
	dropped := map[string]string{
		"text.txt": "no sound at all", "text.wav": "no sound at all", "empty.wav": "", "header.wav": string(whole[:20]), "cut.flac": "fLaC\x00\x00\x00\x22", "noise.mp3": "ID3\x03\x00\x00\x00\x00\x00\x00 and no sound",
		"silence.wav": string(whole[:44]) + strings.Repeat("\x00", 400000), "short.wav": string(sound(t, 1, 4)), "song.m4a": "\x00\x00\x00\x20ftypM4A \x00\x00\x00\x00M4A mp42isom\x00\x00\x00\x00",
		"page.pdf": "%PDF-1.7 ", "picture.png": "\x89PNG\r\n\x1a\n", "song.mid": "MThd\x00\x00\x00\x06", "songs.zip": "PK\x03\x04 ", "song.ogg": "OggS\x00\x02 and no more", "song.aiff": "FORM\x00\x00\x00\x04AIFF",
		"half.json": `{"version": 1, "kind": "recordings without sound", "recordings": [`, "next.json": fmt.Sprintf(profileOf, "9", "{}"), "none.json": fmt.Sprintf(profileOf, "1", ""), "odd.json": fmt.Sprintf(profileOf, "1", `{"name": "a"}`),
		"unversioned.json": `{"kind": "recordings without sound", "recordings": [{}]}`, "other.json": `{"a": 1}`, "settings.json": `{"version": 1, "moves": [], "rate_hz": 44100}`, "desk.json": `{"version": 1, "shapes": []}`,
	}
	for name, content := range dropped {
		told(name, v.measured(v.drop(name, []byte(content))).Trouble)
	}

	mix, ref, other := v.drop("mix.wav", whole), v.drop("reference.wav", sound(t, 24, 2)), v.drop("other.wav", sound(t, 24, 4))
	for _, id := range []string{mix, ref, other} {
		v.measured(id)
	}
	good := usual(mix, ref)
	var profile struct{ Path string }
	v.post("/export/profile.json", with(good, "references", []string{ref, other}), &profile)
	var both json.RawMessage
	v.ask("GET", "/"+profile.Path, nil, &both)
	two := v.drop("two.json", both)
	if state := v.measured(two); state.Profile != 2 {
		t.Fatalf("the profile is %+v", state)
	}
	settings := func(version int, moves string) json.RawMessage {
		return json.RawMessage(fmt.Sprintf(`{"version": %d, "rate_hz": 44100, "trim_db": 0, "moves": [%s]}`, version, moves))
	}
	const cut, bell = `{"shape": "low-cut", "freq_hz": 100, "cut_db_per_oct": 12}`, `{"shape": "bell", "freq_hz": 1000, "gain_db": 2, "q": 1}`
	post := func(what, path string, ask any) {
		t.Helper()
		why := &userError{}
		if code := v.post(path, ask, why); code/100 == 2 {
			t.Errorf("%s is answered with %d", what, code)
		}
		told(what, why)
	}
	for what, ask := range wrongAsks(good) {
		post(what, "/result", ask)
	}
	for what, ask := range map[string]map[string]any{
		"settings of the bounce of another version": with(good, "already", settings(9, bell)), "settings of the bounce with a mistake": with(good, "already", settings(1, `{"shape": "bell"}`)),
		"a bounce through a cut": with(good, "already", settings(1, `{"shape": "low-cut", "freq_hz": 5000, "cut_db_per_oct": 24}`)), "an equaliser of another version": with(good, "equaliser", map[string]any{"version": 9, "shapes": []int{}}),
		"a profile as mix": with(good, "mix", two), "a stage": with(good, "stage", "other"), "a part without music": with(with(good, "mix_part", [][2]float64{{0, 1}}), "ref_part", nil),
		"a narrow range": with(good, "range_hz", []float64{15000, 16000}),
	} {
		post(what, "/result", ask)
	}
	for what, from := range map[string]json.RawMessage{"settings of another version": settings(9, bell), "settings with a cut": settings(1, cut), "settings with a mistake": settings(1, `{"shape": "star"}`), "no settings": []byte(`{}`), "settings beyond the rate": settings(1, `{"shape": "bell", "freq_hz": 30000, "gain_db": 2, "q": 1}`)} {
		post(what, "/moves", with(good, "from", from))
	}
	post("the mix of a profile", "/export/mix.wav", with(good, "mix", two))
	post("no such form", "/export/other.txt", good)
	for what, address := range map[string]string{"no probe": "/probe?rate=1", "no recording": "/recordings/x", "no task": "/tasks/x", "no export": "/exports/x", "no sound": "/sounds/x", "no address": "/x"} {
		why := &userError{}
		v.ask("GET", address, nil, why)
		told(what, why)
	}

	work := func(what, name string, ask map[string]any) {
		t.Helper()
		var begun struct {
			ID string
			userError
		}
		if code := v.post("/tasks/"+name, ask, &begun); code != http.StatusCreated {
			told(what, &begun.userError)
		} else if state := v.taskOf(begun.ID); state.Trouble != nil {
			told(what, state.Trouble)
		} else {
			t.Logf("%s passes: %s", what, state.Outcome.Headline)
		}
	}
	for _, name := range []string{"check", "nearest", "class", "tracks"} {
		all := with(with(good, "mixes", []string{mix, other}), "tracks", []string{mix, other})
		work(name+": a mix as its own reference", name, with(all, "references", []string{mix}))
		work(name+": a profile as mix", name, with(with(all, "mix", two), "mixes", []string{two}))
		work(name+": no reference", name, with(all, "references", nil))
		work(name+": a tolerance", name, with(all, "within_db", 30))
	}
	work("no mixes", "class", good)
	work("no tracks", "tracks", good)
	work("no prints", "equaliser", good)
	rates := v.drop("48.wav", prints(t, v)["print-1.wav"])
	v.measured(rates)
	work("a track at another rate", "tracks", with(good, "tracks", []string{rates, mix}))
	work("a track in front and behind", "tracks", with(with(with(good, "tracks", []string{mix}), "front", []string{mix}), "back", []string{mix}))
	work("a track that is a profile", "tracks", with(good, "tracks", []string{two}))
	work("all tracks are other music", "tracks", with(good, "tracks", []string{other}))
	for name, raw := range map[string][]byte{"flat.wav": whole, "print-99.wav": whole, "print-2.wav": whole, "print-3.wav": []byte(dropped["silence.wav"]), "print-1.wav": prints(t, v)["print-1.wav"]} {
		id := v.drop(name, raw)
		v.measured(id)
		work("the print "+name, "equaliser", with(with(usual(""), "prints", []string{id}), "probe_hz", 48000))
		work("twice the print "+name, "equaliser", with(with(usual(""), "prints", []string{id, id}), "probe_hz", 48000))
		work("a probe that is not there", "equaliser", with(with(usual(""), "prints", []string{id}), "probe_hz", 1))
	}
	exercise := with(with(with(usual(mix), "renders", 2), "difficulty", "easy"), "number", 3)
	for what, change := range map[string][2]any{"difficulty": {"difficulty", "none"}, "lesson": {"lesson", "9/8"}, "renders": {"renders", 0}, "part": {"part_s", []float64{60, 70}}, "long part": {"part_s", []float64{0, 700}},
		"earlier marks": {"earlier", []namedText{{"x.json", "{}"}}}, "a profile": {"mix", two}, "many renders": {"renders", 900}} {
		work("exercise: "+what, "exercise", with(exercise, change[0].(string), change[1]))
	}
	answers, row := string(lesson(t)), "render,shape,freq_hz,gain_db,q\n1,bell,1000,4,1\n"
	sheets := []namedText{{"anna.csv", row}, {"ben.csv", "no sheet"}, {"cleo.csv", row + "1,star,x,4,1\n"}}
	for what, ask := range map[string]map[string]any{"no sheets": {"answers": answers}, "no answers": {"sheets": sheets}, "broken answers": {"answers": answers[:200], "sheets": sheets}, "answers of another version": {"answers": strings.Replace(answers, `"version"`, `"versions"`, 1), "sheets": sheets},
		"answers that are none": {"answers": "{}", "sheets": sheets}, "earlier marks": {"answers": answers, "sheets": sheets, "earlier": []namedText{{"x.json", "[]"}}}, "sheets": {"answers": answers, "sheets": sheets}} {
		work("marking: "+what, "marking", with(with(with(ask, "range_hz", []float64{40, 16000}), "smooth_oct", 0.3333), "toward_percent", 60))
	}

	put := func(what, path, body string) {
		why := &userError{}
		v.ask("PUT", path, strings.NewReader(body), why)
		told(what, why)
	}
	put("an equaliser to keep", "/equaliser", `{"version": 9}`)
	put("a place", "/recordings/"+mix+"/placing", `{"place": "up"}`)
	path, _ := job.KeptEqualiser()
	os.MkdirAll(filepath.Join(path, "in the way"), 0o700)
	put("an equaliser where a folder is", "/equaliser", `{"version": 1, "shapes": [{"shape": "bell"}]}`)
	t.Setenv("XDG_CONFIG_HOME", "")
	t.Setenv("HOME", "")
	put("no folder to keep an equaliser in", "/equaliser", `{"version": 1, "shapes": [{"shape": "bell"}]}`)
}
