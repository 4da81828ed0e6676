package tracks

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"toneplumb/match"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/multitrack"
	"toneplumb/spectrum/testkit"
)

// faderCase is a fault with what was found against one reference.
type faderCase struct {
	song, font, how, half, kind, reference string

	faders         int  // in the fault
	right          bool // all of the fault and nothing else
	balanced       bool // or as few faders that give the same balance at another level
	told           bool // beside the right mix, faders alone: fewer faders leave more, see canBeTold
	advised, held  int  // faders, and those whose sign is right and whose range holds the truth
	heldAtLevel    int  // the same, if all tracks had their level changed by what most of the fault has in common
	filters        int  // advised
	firm           bool
	restShare      float64
	movesDB        float64
	offRenderedDB  float64 // computed less rendered; NaN for no plan
	nothingAdvised bool
}

func TestFaderTruth(t *testing.T) {
	folder := os.Getenv("TONEPLUMB_MIDI_FILES")
	if folder == "" {
		t.Skip("TONEPLUMB_MIDI_FILES names no folder of MIDI songs; .ci/run does")
	}
	all := faderSongs()
	songs := all[1:2]
	long := os.Getenv("TONEPLUMB_LONG") != ""
	if long {
		songs = all
	}
	fonts := []string{soundFont}
	if other := os.Getenv("TONEPLUMB_FONT"); other != "" {
		fonts = append(fonts, other)
	}
	fontOf := func(at int) string { return fonts[at%len(fonts)] }
	of := make([][]faderCase, len(songs))
	t.Run("songs", func(t *testing.T) {
		for at, name := range songs {
			t.Run(name, func(t *testing.T) {
				t.Parallel()
				of[at] = faderCases(t, folder, slices.Index(all, name), fontOf(at))
			})
		}
	})
	found := slices.Concat(of...)
	if long && *testkit.Update && !t.Failed() {
		if err := os.WriteFile("testdata/faders.md", []byte(faderTable(found)), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	t.Log("\n" + faderTable(found))
	checkFaders(t, found)
}

// faderSongs are the songs, those that thresholds were chosen on and the others in turn.
func faderSongs() (all []string) {
	for i, name := range chosenOn {
		all = append(all, name)
		if i < len(heldOut) {
			all = append(all, heldOut[i])
		}
	}
	return all
}

// faderCases tries all faults of a song against all references.
func faderCases(t *testing.T, folder string, at int, font string) (found []faderCase) {
	s := faderSongOf(t, folder, at, font)
	half := "held out"
	if slices.Contains(chosenOn, s.name) {
		half = "chosen on"
	}
	m := faderTables(t, folder, at, font, s)
	for _, f := range m.Cases {
		for _, ref := range m.references() {
			a := f.plan(t, ref.of)
			c := faderCase{song: s.name, font: filepath.Base(font), how: s.how, half: half, kind: f.Kind, reference: ref.kind, faders: len(f.Faders), offRenderedDB: math.NaN(),
				restShare: f.RestShare, movesDB: a.session.additive().movesDB}
			if ref.kind == sameMoments {
				if a.Plan == nil {
					t.Fatalf("%s: no plan beside a copy", s.name)
				}
				if a.Plan.Steps() > 0 {
					predicted := a.Plan.AfterDB()
					is := f.fault()
					if err := a.measurePlan(context.Background(), openOf(f.Mix, s.after(is.mix(s.stems)), s.names, is.stems(s.stems))); err != nil {
						t.Fatal(err)
					}
					if a.Plan != nil {
						c.offRenderedDB = predicted - a.Plan.RenderedDB
					}
				}
			}
			said := judgePlan(&c, a.Plan, f.fault())
			c.balanced = c.right || sameBalance(a.session, a.Plan, f.fault())
			c.told = ref.kind == sameMoments && s.how == "plain sum" && len(f.Faders) > 0 && len(f.Filters) == 0 && canBeTold(a.session, f.fault())
			t.Logf("%-22s %-22s %-10s right %-5v balanced %-5v told %-5v firm %-5v rest %.3f moves %.2f %s", ref.kind, f.Kind, s.how, c.right, c.balanced, c.told, c.firm, c.restShare, c.movesDB, said)
			found = append(found, c)
		}
	}
	return found
}

// planOf is what Advise finds of the plan alone.
func planOf(t *testing.T, mix, ref *measure.Recording, together *multitrack.Table) *Advice {
	return planWith(t, mix, ref, together, Options{})
}

func planWith(t *testing.T, mix, ref *measure.Recording, together *multitrack.Table, with Options) *Advice {
	a := unplanned(t, mix, ref, together, with)
	a.Plan = a.session.plan()
	return a
}

func unplanned(t *testing.T, mix, ref *measure.Recording, together *multitrack.Table, with Options) *Advice {
	c, err := match.Compare(mix, []*measure.Recording{ref}, match.DefaultCompare())
	if err != nil {
		t.Fatal(err)
	}
	o := match.DefaultSolve()
	o.MaxMoves = 0
	a := &Advice{Result: c.Solve(o), Together: together, Groups: with.Groups}
	a.session = newSession(a.Result, together, with)
	a.Tracks = a.session.facts()
	return a
}

// commonDB returns what the faders of a fault have in common: their median, if all have one sign.
func commonDB(faders map[int]float64) float64 {
	var all []float64
	for _, db := range faders {
		all = append(all, db)
	}
	if len(all) < 2 || slices.Min(all) < 0 && slices.Max(all) > 0 {
		return 0
	}
	return median(all)
}

// judgePlan fills in what a plan found of a fault.
func judgePlan(c *faderCase, p *Plan, f fault) (said string) {
	said = fmt.Sprintf("want faders %v filters %v sum %v;", f.faders, f.filters, f.sum)
	wantFilters := len(f.filters) + len(f.sum)
	if p == nil {
		c.nothingAdvised, c.right = true, len(f.faders)+wantFilters == 0
		return said + " no plan"
	}
	c.firm, c.advised, c.filters, c.nothingAdvised = p.Firm, len(p.Faders), len(p.Filters), p.Steps() == 0
	said += fmt.Sprintf(" distance %.2f → %.2f, rendered %.2f:", p.BeforeDB, p.AfterDB(), p.RenderedDB)
	c.right = len(p.Faders) == len(f.faders) && len(p.Filters) == wantFilters && len(p.Widths) == 0
	common := commonDB(f.faders)
	for _, x := range p.Faders {
		if undone := common - f.faders[x.Track]; undone*x.GainDB > 0 && x.LowDB <= undone && undone <= x.HighDB {
			c.heldAtLevel++
		}
		said += fmt.Sprintf(" fader %d %+.2f (%+.2f…%+.2f)", x.Track, x.GainDB, x.LowDB, x.HighDB)
		truth := -f.faders[x.Track]
		c.right = c.right && truth != 0 && math.Abs(x.GainDB-truth) <= faderToleranceDB
		if truth*x.GainDB > 0 && x.LowDB <= truth && truth <= x.HighDB {
			c.held++
		}
	}
	for _, x := range p.Filters {
		said += fmt.Sprintf(" filter on %d %v %.0f Hz %+.1f Q %.2f", x.Track, x.Filter.Shape, x.Filter.FreqHz, x.Filter.GainDB, x.Filter.Q)
		want, is := f.filters[x.Track]
		if x.Track < 0 && f.sum != nil {
			want, is = f.sum[0], true
		}
		c.right = c.right && is && math.Abs(x.Filter.GainDB+want.GainDB) <= filterToleranceDB && math.Abs(math.Log2(x.Filter.FreqHz/want.FreqHz)) <= filterOct
	}
	return said
}
