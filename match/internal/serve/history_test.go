package serve

import (
	"net/http"
	"testing"
)

// A confirmation that ends late changes nothing in the history: neither a newer request, as of another
// tab, nor an entry that was forgotten meanwhile.
func TestConfirmNotesNothing(t *testing.T) {
	v := enter(t)
	mix, ref := v.drop("m.wav", sound(t, 5, 1, faults...)), v.drop("r.wav", sound(t, 5, 2))
	v.measured(mix)
	v.measured(ref)
	old := usual(mix, ref)
	var first, confirmed resultAnswer
	v.post("/result", old, &first)
	v.post("/result", with(old, "max_moves", 1), nil)
	entries := func() []*historyEntry {
		var history struct{ Comparisons []*historyEntry }
		v.ask("GET", "/history", nil, &history)
		return history.Comparisons
	}
	if code := v.post("/confirm", old, &confirmed); code != http.StatusOK || confirmed.Confirmed == nil || confirmed.Comparison != first.Comparison {
		t.Errorf("confirming is answered with %d, comparison %q", code, confirmed.Comparison)
	}
	if all := entries(); len(all) != 1 || all[0].Request.MaxMoves != 1 {
		t.Errorf("after a newer request the history has %+v", all)
	}
	v.ask("DELETE", "/history/"+first.Comparison, nil, nil)
	if code := v.post("/confirm", old, &confirmed); code != http.StatusOK || confirmed.Comparison != "" || len(entries()) > 0 {
		t.Errorf("after forgetting, confirming is answered with %d, comparison %q; the history has %+v", code, confirmed.Comparison, entries())
	}
}
