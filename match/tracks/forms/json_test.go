package forms

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"testing"

	"toneplumb/match"
	"toneplumb/match/tracks"
)

// What is not known of a track that is not heard is null in the document and empty in the table,
// and not nothing at all.
func TestNotHeard(t *testing.T) {
	a := uglyAdvice(8, 2) // the last four: one of each state
	for i := range a.Tracks {
		a.Tracks[i].OwnZones = a.Tracks[i].ShareOfZones
	}
	var document, table bytes.Buffer
	if err := JSON(&document, a); err != nil {
		t.Fatal(err)
	}
	if err := CSV(&table, a); err != nil {
		t.Fatal(err)
	}
	var d struct {
		Tracks []map[string]any
		Moves  []struct{ Shares []*float64 }
	}
	if err := json.Unmarshal(document.Bytes(), &d); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&table).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	states := map[tracks.State]bool{}
	for i, track := range a.Tracks {
		states[track.State] = true
		heard := track.State == tracks.Heard
		for _, key := range []string{"place_db", "polarity_turned", "share_of_zones", "moves_lu", "all_moves_lu"} {
			if known := d.Tracks[i][key] != nil; known != heard {
				t.Errorf("track %d, %s: %s is %v", i, stateWords[track.State], key, d.Tracks[i][key])
			}
		}
		if known := d.Tracks[i]["own_zones"] != nil; known != (track.State != tracks.Silent) {
			t.Errorf("track %d, %s: own_zones is %v", i, stateWords[track.State], d.Tracks[i]["own_zones"])
		}
		for _, m := range d.Moves {
			if known := m.Shares[i] != nil; known != heard {
				t.Errorf("track %d, %s: a move's share is known: %v", i, stateWords[track.State], known)
			}
		}
		cells := rows[i+1]
		for _, cell := range cells[len(cells)-len(match.Zones()):] {
			if known := cell != ""; known != heard {
				t.Errorf("track %d, %s: %q", i, stateWords[track.State], cells)
			}
		}
	}
	if len(states) != len(stateWords) {
		t.Errorf("%d states of %d", len(states), len(stateWords))
	}
}
