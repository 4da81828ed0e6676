package forms

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"toneplumb/match/tracks"
	"toneplumb/match/words"
	"toneplumb/spectrum"
)

// A step that somebody has edited is refused where no equaliser on a track could take it.
func TestPlanRefuses(t *testing.T) {
	advice := func(step string) error {
		text := fmt.Sprintf(`{"version":2,"rate_hz":44100,"tracks":[{"file":"a.wav","state":"heard","place_db":0,"polarity_turned":false}],"plan_firm":true,"filters":[%s]}`, step)
		p, err := ReadPlan(strings.NewReader(text))
		if err != nil {
			t.Fatal(err)
		}
		_, _, err = p.Advice("mix.wav", []string{"a.wav"})
		return err
	}
	if err := advice(`{"track":0,"filter":{"shape":"bell","freq_hz":1000,"gain_db":3,"q":1}}`); err != nil {
		t.Errorf("a sound step: %v", err)
	}
	for name, bad := range map[string]string{
		"a cut":           `{"track":0,"filter":{"shape":"low-cut","freq_hz":100,"gain_db":0,"q":1,"cut_db_per_oct":12}}`,
		"no width":        `{"track":0,"filter":{"shape":"bell","freq_hz":1000,"gain_db":3}}`,
		"no shape":        `{"track":0,"filter":{"shape":"tilt","freq_hz":1000,"gain_db":3,"q":1}}`,
		"no such track":   `{"track":1,"filter":{"shape":"bell","freq_hz":1000,"gain_db":3,"q":1}}`,
		"too much":        `{"track":0,"filter":{"shape":"bell","freq_hz":1000,"gain_db":25,"q":1}}`,
		"above half rate": `{"track":0,"filter":{"shape":"bell","freq_hz":30000,"gain_db":3,"q":1}}`,
	} {
		if err := advice(bad); !errors.Is(err, errBroken) {
			t.Errorf("%s: error %v, want %v", name, err, errBroken)
		}
	}
}

// A track that is not heard has no share, which is another thing than none.
func TestShareCells(t *testing.T) {
	shares := []float64{0, 0.256}
	for state, want := range map[tracks.State][]string{tracks.Heard: {"0", "26"}, tracks.Silent: {"–", "–"}, tracks.Absent: {"–", "–"}} {
		if got := shareCells(tracks.Track{State: state, ShareOfZones: shares}); !slices.Equal(got, want) {
			t.Errorf("%v: %q, want %q", state, got, want)
		}
	}
}

// With a plan in steps nothing says that there is nothing to do, firm or a hint.
func TestPlanIsNotNothing(t *testing.T) {
	for _, firm := range []bool{true, false} {
		a := uglyAdvice(4, 0)
		a.Plan = &tracks.Plan{Firm: firm, Faders: []tracks.Fader{{GainDB: 3, LowDB: 2, HighDB: 4}}, RenderedDB: math.NaN(), EffectDB: make([]float64, spectrum.BandCount), ShownDB: make([]float64, spectrum.BandCount)}
		var text, aloud bytes.Buffer
		if err := errors.Join(Text(&text, a), TextAloud(&aloud, a)); err != nil {
			t.Fatal(err)
		}
		said := text.String() + aloud.String() + Headline(a) + tracksTable(a).Instead
		for _, bad := range []string{"othing to do", "No moves are set"} {
			if strings.Contains(said, bad) {
				t.Errorf("firm %v: %q in\n%s", firm, bad, said)
			}
		}
	}
}

// Beside other music nothing is said about single faders, in the words or on the picture; and where
// the plan reaches the song's trusted mix, no room is to be made.
func TestNothingContradictsThePlan(t *testing.T) {
	for _, same := range []bool{false, true} {
		a := uglyAdvice(4, 1)
		a.Result.SameSong = []bool{same}
		a.Moves[0].Instead.MostlyLevel = true
		said := strings.Join(words.TrackMove(a, a.Moves[0]), " ")
		if strings.Contains(said, "try the fader") != same {
			t.Errorf("the same song %v: %q", same, said)
		}
		if under := tracksTable(a).Under[0]; !strings.Contains(under, "mostly a matter of level") || strings.Contains(under, "other music cannot judge") == same {
			t.Errorf("the same song %v: %q", same, under)
		}
		if !strings.Contains(said, "over all that is judged the two curves lie") {
			t.Errorf("%q", said)
		}
	}
	a := uglyAdvice(4, 0)
	a.Plan = &tracks.Plan{Firm: true, NarrowedDB: 0.05}
	reached := words.NoPairs(a)
	if a.Plan.NarrowedDB = 1; !strings.HasPrefix(reached, "no room is to be made") || words.NoPairs(a) == reached {
		t.Errorf("%q, and away from the reference %q", reached, words.NoPairs(a))
	}
}
