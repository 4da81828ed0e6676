package serve

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match/artefact"
	"toneplumb/match/internal/browser"
	"toneplumb/match/report"
	"toneplumb/spectrum/testkit"
)

// Single tracks are placed, whatever they are called: here both as the mix is.
func TestTracksView(t *testing.T) {
	testkit.Skip(t, "reads tracks")
	v := enter(t)
	mix, ref := v.drop("mix.wav", sound(t, 12, 1, faults...)), v.drop("ref.wav", sound(t, 12, 2))
	whole, other := v.drop("mix.wav", sound(t, 12, 1, faults...)), v.drop("other.wav", sound(t, 12, 4))
	for _, id := range []string{mix, ref, whole, other} {
		v.measured(id)
	}
	got := v.task("tracks", with(usual(mix, ref), "tracks", []string{whole, other}))
	if got.Outcome == nil || len(got.Outcome.Files) != len(artefact.Tracks) || fmt.Sprint(got.Outcome.Panels) != "[2]" {
		t.Fatalf("the tracks are %+v %+v", got, got.Trouble)
	}
	if blocks := fmt.Sprint(got.Outcome.Blocks); !strings.Contains(blocks, "Taken for a rough mix (off by 5 dB or more on a dial), as chosen under Starting a mix.") {
		t.Errorf("the stage is not said: %s", blocks)
	}
	var document struct{ Tracks []struct{ Name string } }
	if err := json.Unmarshal(v.file(got, ".json"), &document); err != nil || fmt.Sprint(document.Tracks) != "[{mix} {other}]" {
		t.Errorf("the document says %+v, %v", document, err)
	}
	if page := v.file(got, ".html"); !bytes.Contains(page, []byte("Which track carries what")) || bytes.Contains(page, []byte(v.server.folder)) {
		t.Error("the page does not hold the tracks, or tells where they lie")
	}
	if got := v.task("tracks", with(usual(mix, ref), "tracks", []string{whole, ref})); got.Outcome == nil {
		t.Errorf("a track that is none of the mix: %+v", got.Trouble)
	}
}

// bandTracks are two single tracks, and their sum with the highs up, as 16-bit WAV. Level is ignored, so
// that is as good as the lows down.
func bandTracks(t testing.TB) (lows, highs, louder []byte) {
	const sec, upDB = 24, 5
	lows = sound(t, sec, 1, biquad.Filter{Shape: biquad.HighCut, FreqHz: 500, CutDBPerOct: 12})
	highs = sound(t, sec, 4, biquad.Filter{Shape: biquad.LowCut, FreqHz: 1000, CutDBPerOct: 12})
	louder = bytes.Clone(lows)
	const head = 44
	for i := head; i+1 < len(louder); i += 2 {
		at := func(raw []byte) float64 { return float64(int16(binary.LittleEndian.Uint16(raw[i:]))) }
		binary.LittleEndian.PutUint16(louder[i:], uint16(int16(math.Round(0.5*(at(lows)+at(highs)*math.Pow(10, upDB/20.0))))))
	}
	return lows, highs, louder
}

// Without a mix the tracks' sum is the mix: the plan finds the fader of a group, and is heard and
// rendered; tracks are brought forward. The plan's document is the command's.
func TestTracksSum(t *testing.T) {
	testkit.Skip(t, "reads tracks")
	v := enter(t)
	lows, highs, louder := bandTracks(t)
	bass, hats, ref := v.drop("bass.wav", lows), v.drop("hats.wav", highs), v.drop("right mix.wav", louder)
	for _, id := range []string{bass, hats, ref} {
		v.measured(id)
	}
	ask := with(with(usual("", ref), "tracks", []string{bass, hats}), "sum", true)
	got := v.task("tracks", with(with(ask, "groups", []trackGroup{{" kit ", []string{hats}}, {"gone", []string{"x"}}}), "front", []string{bass}))
	if got.Outcome == nil || got.Outcome.Headline != "What to do, in this order: 1 step." || len(got.Outcome.Files) != len(artefact.Tracks)+1 {
		t.Fatalf("the tracks are %+v %+v", got.Outcome, got.Trouble)
	}
	var document struct {
		Sum    bool `json:"mix_is_sum"`
		Faders []struct {
			GainDB float64 `json:"gain_db"`
		} `json:"faders"`
		Groups []struct{ Name string } `json:"groups"`
	}
	if err := json.Unmarshal(v.file(got, ".json"), &document); err != nil || !document.Sum || len(document.Faders) != 1 || math.Abs(document.Faders[0].GainDB+5) > 0.3 || fmt.Sprint(document.Groups) != "[{kit}]" {
		t.Errorf("the document says %+v, %v", document, err)
	}
	if page := v.file(got, ".html"); !bytes.Contains(page, []byte("bass: fader")) {
		t.Error("the page has no switch of the plan")
	}
	if text := string(v.file(got, ".txt")); !strings.Contains(text, "bass forward") {
		t.Errorf("nothing is brought forward: %s", text)
	}
	v.hears(got)
	v.reads(got)
	var made struct{ Path, Name string }
	var wav bytes.Buffer
	if code := v.post("/tasks/"+got.ID+"/files/sum%20of%20the%20tracks%20with%20the%20plan.wav", nil, &made); code != http.StatusOK {
		t.Fatalf("the plan's sound is answered with %d", code)
	}
	if v.ask("GET", "/"+made.Path, nil, &wav); !bytes.HasPrefix(wav.Bytes(), []byte("RIFF")) || wav.Len() < len(lows)*9/10 {
		t.Errorf("%q is %.10q, %d bytes", made.Name, wav.Bytes(), wav.Len())
	}
	for what, bad := range map[string]map[string]any{
		"no mix and no sum":      with(ask, "sum", false),
		"in front and behind":    with(with(ask, "front", []string{bass}), "back", []string{bass}),
		"two groups of one name": with(ask, "groups", []trackGroup{{"a", []string{bass}}, {"a", []string{hats}}}),
		"a group without a name": with(ask, "groups", []trackGroup{{" ", []string{bass}}}),
		"no reference":           with(ask, "references", []string{}),
	} {
		var why struct {
			ID, Hint string
			Trouble  *userError
		}
		if v.post("/tasks/tracks", bad, &why); why.Hint == "" {
			if state := v.task("tracks", bad); state.Trouble == nil || state.Trouble.Hint == "" {
				t.Errorf("%s: %+v", what, state)
			}
		}
	}
	// What is said about a track outlives a reload.
	if code := v.ask("PUT", "/recordings/"+hats+"/placing", strings.NewReader(`{"group": " kit ", "place": "front"}`), nil); code != http.StatusNoContent {
		t.Errorf("a place is answered with %d", code)
	}
	if code := v.ask("PUT", "/recordings/"+hats+"/placing", strings.NewReader(`{"place": "up"}`), &userError{}); code != http.StatusBadRequest {
		t.Errorf("no place is answered with %d", code)
	}
	if state := v.measured(hats); state.Group != "kit" || state.Place != "front" {
		t.Errorf("the place is %+v", state.trackPlacing)
	}
}

// hears checks the player of an outcome: its plan is switched as a layer, and all its sounds are FLAC.
func (v *visit) hears(of taskState) {
	v.t.Helper()
	var player playerAnswer
	if code := v.ask("GET", "/tasks/"+of.ID+"/player", nil, &player); code != http.StatusOK || player.Player == nil {
		v.t.Fatalf("the player is answered with %d, %+v", code, player)
	}
	var names []string
	for _, source := range player.Player.Sources {
		var flac bytes.Buffer
		if code := v.ask("GET", "/"+source.Sound, nil, &flac); code != http.StatusOK || !bytes.HasPrefix(flac.Bytes(), []byte("fLaC")) {
			v.t.Errorf("%s is answered with %d", source.Name, code)
		}
		names = append(names, source.Name)
	}
	if got := strings.Join(names, "|"); got != "mix|mix with the plan|reference" || len(player.Player.Moves) != 1 || player.Player.Moves[0].Sound == "" {
		v.t.Errorf("heard are %s, switched %+v", got, player.Player.Moves)
	}
}

// reads checks that the picture of an outcome is read.
func (v *visit) reads(of taskState) {
	v.t.Helper()
	var reading report.Reading
	if code := v.ask("GET", "/tasks/"+of.ID+"/reading?width=640&height=400", nil, &reading); code != http.StatusOK || len(reading.Words) == 0 || !(reading.LeftPx < reading.RightPx && reading.RightPx < 640) {
		v.t.Fatalf("the reading is answered with %d, %+v", code, reading)
	}
	if words := reading.Words[len(reading.Words)/2]; !strings.Contains(words, "difference ") || !strings.Contains(words, "the plan ") {
		v.t.Errorf("the picture is read as %q", words)
	}
}

// On the page: without a mix it says what to do, groups stay after a reload, the plan is heard and
// taken away.
func TestTracksOnThePage(t *testing.T) {
	testkit.Skip(t, "drives a browser")
	v := start(t)
	b := v.open()
	lows, highs, louder := bandTracks(t)
	b.click(`#views a[href="#tracks"]`)
	b.dropAs("track", "bass.wav", onDisk(t, lows), "hats.wav", onDisk(t, highs))
	b.dropAs("reference", "right mix.wav", onDisk(t, louder))
	b.Until(`byId("next-step").textContent === "Now choose the mix. If there is no mix yet, say so below."`)
	b.click("#tracks-sum")
	b.Until(answered + ` && byId("outcome-headline").textContent.endsWith("1 step.") && !byId("player").hidden`)
	b.Want("what is heard", `heard.transport.player.sources.map(({ name }) => name).join("|")`, "mix|mix with the plan|reference")
	b.Want("the switch", `document.querySelector("#moves .choices").textContent.includes("bass: fader −5")`, "true")
	b.Click("#play")
	b.Until(`byId("state").textContent.startsWith("Playing mix")`)
	b.Text(`byId("tracks-known").open = true`)
	b.setField(`[aria-label="Group of hats.wav"]`, "kit")
	b.Until(answered + ` && byId("tracks-known").querySelectorAll("#group-names option").length === 1`)
	b.click("#outcome-files button")
	if raw := b.downloaded("sum of the tracks with the plan.wav"); !bytes.HasPrefix(raw, []byte("RIFF")) {
		t.Errorf("the sound is %.10q", raw)
	}
	b.Want("the picture's reading", `document.querySelector("#outcome-picture .readout").textContent`, b.Text("HOW_TO_READ"))
	b.Shot("tracks-plan")
	b.Text(`(change({ max_moves: 0, toward_percent: 0 }), 0)`)
	b.Want("what the first view's 0 asks here", `viewRequest().max_moves + " " + viewRequest().toward_percent`, "4 60")
	b.click("#keep-work-here")
	work := b.downloaded("mix work.json")
	b.Reload()
	// Both tracks are sent at once: which arrived first, and so is listed first now, is chance.
	b.Until(`typeof files === "object" && readyOf("track").length === 2`)
	b.Want("groups after the reload", `readyOf("track").map(({ name, group }) => name + ":" + group).sort().join()`, "bass.wav:,hats.wav:kit")
	// The kept work says that there is no mix yet.
	again := start(t).open()
	again.click(`#views a[href="#tracks"]`)
	again.dropOn("work.json", onDisk(t, work), "a.wav", onDisk(t, lows), "b.wav", onDisk(t, highs), "c.wav", onDisk(t, louder))
	again.Until(answered + ` && byId("tracks-sum").checked && byId("outcome-headline").textContent.endsWith("1 step.")`)
	again.Want("the tracks", `readyOf("track").map(({ group }) => group).sort().join()`, ",kit")
	again.Quiet()
	b.Quiet()
}

// The pictures of eight moves are no higher than the window, and beside one another where there is room;
// each is read.
func TestPicturesOfEightMoves(t *testing.T) {
	v := start(t)
	b := v.open()
	b.As(1280, 800, "light")
	var wavy []biquad.Filter
	for i := range 8 {
		wavy = append(wavy, biquad.Filter{Shape: biquad.Bell, FreqHz: 70 * math.Pow(2, float64(i)), GainDB: 8 - 16*float64(i%2), Q: 1.5})
	}
	mix := onDisk(t, sound(t, 24, 1, wavy...))
	b.click(`#views a[href="#tracks"]`)
	b.dropAs("mix", "mix.wav", mix)
	b.dropAs("track", "whole.wav", mix, "other.wav", onDisk(t, sound(t, 24, 4)))
	b.Text(`(change({ max_moves: 8, toward_percent: 100, smooth_oct: 1 / 6, stage: "as measured" }), 0)`)
	b.dropAs("reference", "reference.wav", onDisk(t, sound(t, 24, 2)))
	for _, size := range []struct{ width, height, across int64 }{{1280, 800, 2}, {1920, 1080, 2}, {360, 740, 1}} {
		b.As(size.width, size.height, "light")
		b.Until(answered + ` && view.asked.tracks.told.outcome.panels.join() === "4,4" && document.querySelectorAll(".outcome-over").length === 2`)
		b.Until(fmt.Sprintf(`getComputedStyle(byId("outcome-picture")).gridTemplateColumns.split(" ").length === %d && !byId("player").hidden`, size.across))
		for _, high := range browser.Eval[[]float64](b.Tab, `[...document.querySelectorAll(".outcome-figure")].map((e) => e.getBoundingClientRect().height)`) {
			if high < 260 || high > float64(size.height)-240 {
				t.Errorf("%+v: a picture is %.0f high", size, high)
			}
		}
		b.Narrow(size.width)
		b.Shot(fmt.Sprintf("eight-tracks-moves-%d", size.width))
	}
	b.Text(`(document.querySelectorAll(".outcome-over")[1].focus(), 0)`)
	b.Want("what the second says", `/^1.* · move 5: .* · move 8: /.test(document.querySelectorAll(".outcome-picture .readout")[1].textContent)`, "true")
	b.Want("what the first says", `document.querySelector(".outcome-picture .readout").textContent`, b.Text("HOW_TO_READ"))
	b.Quiet()
}
