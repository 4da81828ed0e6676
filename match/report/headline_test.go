package report

import (
	"io"
	"slices"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/words"
	"toneplumb/spectrum/finding"
)

// Cutting both ends, or a wide one, is a lift of the rest, since level is ignored, and a practitioner calls it so if that
// is the smaller part.
func TestShelvesMoveTheRest(t *testing.T) {
	shelf := func(shape biquad.Shape, hz, db float64) biquad.Filter {
		return biquad.Filter{Shape: shape, FreqHz: hz, GainDB: db, Q: 0.7}
	}
	low, high := biquad.LowShelf, biquad.HighShelf
	for _, c := range []struct {
		moves []biquad.Filter
		want  string
	}{
		{[]biquad.Filter{shelf(low, 1600, -2), shelf(high, 11800, -3)}, "Cut below 1.6 kHz and above 11.8 kHz, which lifts what is between: "},
		{[]biquad.Filter{shelf(high, 1000, 2), shelf(low, 300, 1)}, "Lift above 1 kHz and below 300 Hz, which cuts what is between: "},
		{[]biquad.Filter{shelf(low, 800, -2.5)}, "Cut below 800 Hz, which lifts what is above: "},
		{[]biquad.Filter{shelf(high, 600, 2.5)}, "Lift above 600 Hz, which cuts what is below: "},
		{[]biquad.Filter{shelf(low, 300, -2.5)}, "Cut below 300 Hz: "},
		{[]biquad.Filter{shelf(biquad.Bell, 800, -2.5)}, "Cut around 800 Hz: "},
		{[]biquad.Filter{shelf(low, 70, -2), shelf(high, 9000, -3)}, "Cut below 70 Hz and above 9 kHz: "},
		{[]biquad.Filter{shelf(low, 1600, -2), shelf(high, 11800, 3)}, "Cut below 1.6 kHz, lift above 11.8 kHz: "},
		{[]biquad.Filter{shelf(low, 1600, -2), shelf(biquad.Bell, 11800, -3)}, "Cut below 1.6 kHz and around 11.8 kHz: "},
	} {
		if got := Headline(invented("mix.wav", "ref.wav", c.moves)); !strings.HasPrefix(got, c.want) {
			t.Errorf("%s", got)
		}
	}
}

// If it is in doubt that the equaliser was on, the headline says so before what to do.
func TestHeadlineCarriesTheDoubt(t *testing.T) {
	r := invented("mix.wav", "ref.wav", someMoves(1))
	plain := Headline(r)
	r.Warnings = append(r.Warnings, match.NoTrace{Name: "first.json"})
	if want := "holds only if it was. " + plain; !strings.HasSuffix(Headline(r), want) || !strings.HasSuffix(plain, "from the reference.") {
		t.Errorf("%s", Headline(r))
	}
	k := &match.Check{Comparison: r.Comparison, Warnings: finding.List{match.NoTrace{Name: "first.json"}}}
	if got := CheckSentence(k); !strings.HasPrefix(got, "Was the equaliser on") {
		t.Errorf("%s", got)
	}
}

// Near enough by a wide tolerance alone does not pass for near enough.
func TestSentenceNamesWideZones(t *testing.T) {
	r := invented("mix.wav", "ref.wav", someMoves(1))
	k := &match.Check{Comparison: r.Comparison, Verdict: match.NearEnough, Zones: []match.ZoneVerdict{
		{Zone: match.Zones()[3], DifferenceDB: 1, ToleranceDB: 12, UsualDB: 8.3, Verdict: match.NearEnough},
		{Zone: match.Zones()[6], DifferenceDB: -8, ToleranceDB: 12, UsualDB: 8.3, Verdict: match.NearEnough},
	}}
	if got, want := CheckSentence(k), "By a wide tolerance alone, so listen there: air (8.0 dB over)."; !strings.Contains(got, want) {
		t.Errorf("%s", got)
	}
}

// If a rough mix is far from its reference, the headline says so before what to do.
func TestHeadlineDoubtsFarReferences(t *testing.T) {
	r := invented("mix.wav", "ref.wav", someMoves(1))
	r.Warnings = finding.List{match.FarApart{ApartDB: 10.7, References: 1}}
	if got, want := Headline(r), "10.7 dB apart: unless the mix itself is that far off, choose another reference. If it is: lift below 90 Hz: 3.1 → 1.9 dB from the reference."; got != want {
		t.Errorf("%q", got)
	}
}

// What to do about far references is said once: in the headline if that speaks of them, else in the finding.
func TestFarReferencesAreDoubtedOnce(t *testing.T) {
	const advice = "choose another reference"
	r := invented("mix.wav", "ref.wav", someMoves(1))
	far := match.FarApart{ApartDB: 10.7, References: 1}
	for _, all := range []finding.List{{match.Swapped{LU: 5, References: 1}, far}, {match.NoTrace{Name: "first.json"}, far}} {
		r.Warnings = all
		for name, write := range map[string]func(io.Writer, *match.Result) error{"text": Text, "markdown": Markdown} {
			var b strings.Builder
			if err := write(&b, r); err != nil {
				t.Fatal(err)
			}
			if n := strings.Count(strings.Join(strings.Fields(b.String()), " "), advice); n != 1 {
				t.Errorf("%s, %T: said %d times", name, all[0], n)
			}
		}
		if r.Warnings[1] != far {
			t.Errorf("%T: the findings changed: %+v", all[0], r.Warnings)
		}
	}
	if text := WarningsJSON(finding.List{far})[0].Text; !strings.Contains(text, advice) { // class has no headline per mix
		t.Errorf("JSON: %s", text)
	}
}

// Moves that somebody set are not told as advice, in words or in figures.
func TestOwnMovesAreNamed(t *testing.T) {
	r := *cases()["plain"]
	r.Moves = slices.Clone(r.Moves)
	r.Own, r.Moves[0].ByHand = true, true
	if got := Headline(&r); !strings.HasPrefix(got, "Your moves: ") {
		t.Error(got)
	}
	r.Moves[1].ByHand, r.Moves[1].GainHighDB = true, r.Moves[1].GainDB-1
	if got := words.Why(r.Moves[1]); !strings.HasPrefix(got, "set by hand, outside the likely range; ") {
		t.Error(got)
	}
	r.Moves[1].ByHand = false
	d := MovesJSON(r.Moves)
	if !d[0].ByHand || d[1].ByHand || !strings.HasPrefix(d[0].Reason, "set by hand; ") {
		t.Errorf("%+v", d[:2])
	}
}

// A heading without room drops whole sentences: first what matters least, the doubt never.
func TestShorterChecksDropSentences(t *testing.T) {
	k := &match.Check{Comparison: invented("mix.wav", "ref.wav", nil).Comparison, Verdict: match.Unusual, Warnings: finding.List{match.FarApart{ApartDB: 9, References: 1}}}
	for i, z := range match.Zones() {
		verdict := []match.Verdict{match.NearEnough, match.Unusual}[min(i/3, 1)]
		k.Zones = append(k.Zones, match.ZoneVerdict{Zone: z, DifferenceDB: 8, ToleranceDB: 12, UsualDB: 7, Verdict: verdict})
	}
	doubt := "9.0 dB apart: unless the mix itself is that far off, choose another reference."
	unusual := " Unusual, so listen there: mids (8.0 dB under), high mids (8.0 dB under), highs (8.0 dB under) and air (8.0 dB under)."
	short, one := " Unusual, so listen there: mids (8.0 dB under), high mids (8.0 dB under) and 2 more.", " Beside one reference only large faults show."
	begin := doubt + " If it is: no zone is clearly off."
	for i, want := range []string{
		begin + unusual + " Near enough by a wide tolerance alone: sub, lows and low mids." + one,
		begin + unusual + one, begin + unusual + one, begin + short + one, begin + short, begin, doubt,
	} {
		if got := shorterChecks(k)[i]; got != want {
			t.Errorf("%d: %s\nwant %s", i, got, want)
		}
	}
	if f := CheckChart(k, ChartOptions{}); !strings.Contains(f.Footnotes[0], " ~: inside only because") || f.Title != CheckSentence(k) || len(f.Shorter) != 7 {
		t.Errorf("%q %q", f.Title, f.Shorter)
	}
}

// The same of moves: what becomes of the rest goes first.
func TestShorterHeadlines(t *testing.T) {
	r := invented("mix.wav", "ref.wav", []biquad.Filter{{Shape: biquad.LowShelf, FreqHz: 800, GainDB: -2.5, Q: 0.7}})
	if got := shorterHeadlines(r); len(got) != 1 || !strings.HasPrefix(got[0], "Cut below 800 Hz: ") {
		t.Errorf("%q", got)
	}
	r.Warnings = append(r.Warnings, match.NoTrace{Name: "first.json"})
	got := shorterHeadlines(r)
	if len(got) != 2 || !strings.HasSuffix(got[1], "holds only if it was.") {
		t.Errorf("%q", got)
	}
	page := HandoutPages(r, HandoutOptions{Blank: true})
	if page[0].Shorter != nil || len(page[1].Shorter) != 2 || !strings.HasPrefix(page[1].Shorter[1], "Solution: was the equaliser") {
		t.Errorf("%q %q", page[0].Shorter, page[1].Shorter)
	}
}

// Near enough stays with what takes half of it back.
func TestShorterCheckKeepsWideZones(t *testing.T) {
	k := &match.Check{Comparison: invented("mix.wav", "ref.wav", nil).Comparison, Verdict: match.NearEnough}
	for _, z := range match.Zones() {
		k.Zones = append(k.Zones, match.ZoneVerdict{Zone: z, DifferenceDB: 8, ToleranceDB: 12, UsualDB: 8})
	}
	all := shorterChecks(k)
	if got := all[len(all)-1]; got != "Near enough to the reference in every zone. By a wide tolerance alone, so listen there: sub, lows and 5 more." {
		t.Errorf("%s", got)
	}
}

// Each distance names what it is after, so that no two figures meet.
func TestSteps(t *testing.T) {
	r := invented("mix.wav", "ref.wav", nil)
	r.StepsDB = []float64{2.8, 2.6}
	if got, want := steps(r), "One move, set for itself, would leave 2.8 dB; these two leave 2.6 dB."; got != want {
		t.Error(got)
	}
}
