package serve

import (
	"bytes"
	"net/http"
	"strings"
	"testing"

	"toneplumb/match"
	"toneplumb/match/page"
	"toneplumb/match/report"
)

// Asks that no page of ours sends are refused in words.
func TestWrongAsks(t *testing.T) {
	v := enter(t)
	mix, ref := v.drop("m.wav", sound(t, 5, 1)), v.drop("r.wav", sound(t, 5, 2))
	v.measured(mix)
	v.measured(ref)
	good := usual(mix, ref)
	if code := v.post("/result", good, nil); code != http.StatusOK {
		t.Fatalf("a good ask is answered with %d", code)
	}
	asks := wrongAsks(good)
	html, _, err := page.Served()
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range match.Numbers {
		asks[n.Flag] = with(good, n.Name, -3)
		if field := `data-option="` + n.Name + `"`; !bytes.Contains(html, []byte(field)) {
			t.Errorf("the page has no field %s", field)
		}
	}
	for name, ask := range asks {
		var refused userError
		if code := v.post("/result", ask, &refused); code/100 != 4 || refused.What == "" || refused.Hint == "" {
			t.Errorf("%s: answered with %d, %+v", name, code, refused)
		}
	}
}

// wrongAsks are asks that are refused, made from a good one.
func wrongAsks(good map[string]any) map[string]any {
	set := func(freqHz, gainDB, width report.Number, shape string) []dialled {
		return []dialled{{Shape: shape, FreqHz: freqHz, GainDB: gainDB, Width: width, On: true}}
	}
	return map[string]any{
		"smoothing":       with(good, "smooth_oct", 0.7),
		"range":           with(good, "range_hz", []float64{100, 110}),
		"moves":           with(good, "max_moves", 9),
		"part backwards":  with(good, "mix_part", [][2]float64{{3, 1}}),
		"part beyond":     with(good, "ref_part", [][2]float64{{0, 900}}),
		"loudest":         with(good, "loudest_s", 0.1),
		"equaliser":       with(good, "equaliser", map[string]any{"version": 7}),
		"already":         with(good, "already", map[string]any{"version": 1}),
		"no such mix":     with(good, "mix", "../address"),
		"no references":   with(good, "references", []string{}),
		"shape":           with(good, "dialled", set(100, 3, 1, "<b>")),
		"frequency":       with(good, "dialled", set(1e9, 3, 1, "bell")),
		"gain":            with(good, "dialled", set(100, 300, 1, "bell")),
		"width":           with(good, "dialled", set(100, 3, 0, "bell")),
		"too many":        with(good, "dialled", make([]dialled, 9)),
		"no document":     "hello",
		"an endless name": with(good, "mix", strings.Repeat("x", maxRequestBytes)),
	}
}

// Sound is handed out of what is measured only: before that the file may be half there,
// after a failure it is gone.
func TestSoundOfUnmeasured(t *testing.T) {
	v := enter(t)
	id := v.drop("text.wav", []byte("this is no sound at all"))
	v.measured(id)
	var refused userError
	if code := v.ask("GET", "/sounds/"+id+"?from=0&sec=1", nil, &refused); code != http.StatusConflict || refused.Hint == "" {
		t.Errorf("answered with %d, %+v", code, refused)
	}
}
