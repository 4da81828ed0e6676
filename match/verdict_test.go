package match

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/testkit"
)

// Pieces of one song have one tone: its zones must lie inside their joint intervals, all
// at once, in 95 % of draws. They fall to the sides by lot; pieces in turn lie nearer to
// each other than other stretches of the music.
func TestJointIntervals(t *testing.T) {
	testkit.Skip(t, "compares all songs")
	const low, high = 0.91, 0.99 // two standard errors of 124 trials either way
	songs := songTables(t)
	in, n := 0.0, 0.0
	var halves []float64
	for _, pieceSec := range []int{8, 10, 16, 20} {
		was, of := in, n
		for i, song := range songs {
			side := make([]bool, song.Rows*song.RowSec/pieceSec+1)
			for p := range side {
				side[p] = p%2 == 0
			}
			rng := rand.New(rand.NewPCG(uint64(i), uint64(pieceSec)))
			rng.Shuffle(len(side), func(p, q int) { side[p], side[q] = side[q], side[p] })
			mine := func(row int) bool { return side[row*song.RowSec/pieceSec] }
			c := compare(t, rowsOf(song, mine), rowsOf(song, func(row int) bool { return !mine(row) }))
			inside := 1.0
			for _, z := range c.Verdict(0).Zones {
				if z.LowDB > 0 || z.HighDB < 0 {
					inside = 0
				}
				if z.Why != LeftOutZone {
					halves = append(halves, (z.HighDB-z.LowDB)/2)
				}
			}
			in, n = in+inside, n+1
		}
		t.Logf("pieces of %d s: %.0f of %.0f songs", pieceSec, in-was, n-of)
	}
	t.Logf("all zones inside: %.3f of %.0f (%g to %g); half an interval %.2f dB in the median zone", in/n, n, low, high, median(halves))
	if in/n < low || in/n > high {
		t.Errorf("outside")
	}
}

func verdicts(k *Check) map[string]string {
	all := map[string]string{}
	for _, z := range k.Zones {
		all[z.Name] = z.Verdict.String()
	}
	return all
}

// What is known about a pair is what is said of it.
func TestVerdicts(t *testing.T) {
	shelf := func(db float64) func(hz float64) float64 {
		return through(biquad.Filter{Shape: biquad.HighShelf, FreqHz: 5600, GainDB: db, Q: math.Sqrt2 / 2})
	}
	bass := func(db float64) func(hz float64) float64 {
		return through(biquad.Filter{Shape: biquad.LowShelf, FreqHz: 250, GainDB: db, Q: math.Sqrt2 / 2})
	}
	others := []*measure.Recording{invented(5, 150, shelf(2)), invented(6, 150, shelf(-2)), invented(7, 150, flat)}
	for _, c := range []struct {
		name     string
		mix      *measure.Recording
		refs     []*measure.Recording
		within   float64
		zone     string
		verdict  string
		low, hig float64 // between which the difference of the zone lies
		whole    Verdict
	}{
		{"a copy with 5 dB less of lows", invented(1, 90, bass(-5)), []*measure.Recording{invented(1, 90, flat)}, 2, "lows", "off", 3, 5, Differs},
		{"a copy with 7 dB less of lows", invented(1, 90, bass(-7)), []*measure.Recording{invented(1, 90, flat)}, 0, "lows", "off", 4.2, 7, Differs},
		{"a copy with 5 dB more of lows", invented(1, 90, bass(5)), []*measure.Recording{invented(1, 90, flat)}, 2, "lows", "off", -5, -3, Differs},
		{"a copy with 1 dB less of lows", invented(1, 90, bass(-1)), []*measure.Recording{invented(1, 90, flat)}, 0, "lows", "near enough", 0.6, 1, NearEnough},
		{"a copy with 5 dB less of highs, within 2", invented(1, 90, shelf(-5)), []*measure.Recording{invented(1, 90, flat)}, 2, "highs", "off", 2, 5, Differs},
		{"a copy with 7 dB more of highs, within 2", invented(1, 90, shelf(7)), []*measure.Recording{invented(1, 90, flat)}, 2, "highs", "off", -5, -2, Differs},
		{"a copy with 1 dB less", invented(1, 90, shelf(-1)), []*measure.Recording{invented(1, 90, flat)}, 0, "highs", "near enough", 0.3, 1, NearEnough},
		{"a copy with 1 dB less, within 2", invented(1, 90, shelf(-1)), []*measure.Recording{invented(1, 90, flat)}, 2, "highs", "near enough", 0.3, 1, NearEnough},
		{"twenty thin seconds", invented(1, 20, shelf(-2)), []*measure.Recording{invented(2, 20, flat)}, 2, "highs", "too close to call", -1, 4, CannotTell},
		{"three that spread", invented(8, 150, shelf(-1)), others, 0, "mids", "near enough", -1, 1, NearEnough},
		{"far from three", invented(8, 150, shelf(-20)), others, 0, "highs", "off", 11, 20, Differs},
		{"as far from one: a song may be", invented(8, 150, shelf(-12)), others[2:], 0, "highs", "near enough", 5, 12, NearEnough},
	} {
		k := compare(t, c.mix, c.refs...).Verdict(c.within)
		got := k.Zones[slices.IndexFunc(k.Zones, func(z ZoneVerdict) bool { return z.Name == c.zone })]
		if v := got.Verdict.String(); v != c.verdict || got.DifferenceDB < c.low || got.DifferenceDB > c.hig {
			t.Errorf("%s: %s %s at %.2f dB (%.2f to %.2f, tolerance %.2f), want %s, %g to %g dB", c.name, c.zone, v, got.DifferenceDB, got.LowDB, got.HighDB, got.ToleranceDB, c.verdict, c.low, c.hig)
		}
		if k.Verdict != c.whole {
			t.Errorf("%s: on the whole %s: %v", c.name, k.Verdict, verdicts(k))
		}
	}
}

// Half of Student's prediction interval from 5 + R − 1 degrees of freedom; the figures
// are scipy 1.10's, stats.t.ppf(1 − 0.22/14, 5 + R − 1)·√((5·s² + Σ(x − x̄)²)/(5 + R − 1)·(1 + 1/R)).
func TestTolerances(t *testing.T) {
	// raised has lows and mids 1.18 and 0.09 dB over where flat has them, level ignored.
	raised := func(hz float64) float64 {
		if hz < Zones()[1].HighHz {
			return 2
		}
		return 0
	}
	ref := func(seed uint64, tone func(hz float64) float64) *measure.Recording { return invented(seed, 60, tone) }
	same := ref(1, flat)
	for _, c := range []struct {
		name       string
		mix        *measure.Recording
		refs       []*measure.Recording
		within     float64
		lows, mids float64
	}{
		{"one", ref(2, flat), []*measure.Recording{same}, 0, 9.64, 8.38},
		{"two alike", ref(2, flat), []*measure.Recording{same, same}, 0, 7.18, 6.25},
		{"three alike", ref(2, flat), []*measure.Recording{same, same, same}, 0, 6.02, 5.24},
		{"two that differ by 2 dB in the lows and below", ref(2, flat), []*measure.Recording{same, ref(1, raised)}, 0, 7.18 * math.Sqrt((5*2.3*2.3+1.18*1.18/2)/(5*2.3*2.3)), 6.25},
		{"asked for", ref(2, flat), []*measure.Recording{same, ref(1, raised)}, 1.5, 1.5, 1.5},
		{"the mix's own song", same, []*measure.Recording{ref(1, raised)}, 0, 2, 2},
	} {
		const slackDB = 0.06 // figures to 0.01 dB, a zone's edges smoothed over
		all, usual := compare(t, c.mix, c.refs...).tolerances(c.within)
		if lows, mids := all[1], all[3]; math.Abs(lows-c.lows) > slackDB || math.Abs(mids-c.mids) > slackDB {
			t.Errorf("%s: lows %.2f, mids %.2f; want %.2f and %.2f", c.name, lows, mids, c.lows, c.mids)
		}
		// Student's t with 5 degrees of freedom: 2.015 for 90 %, and 2.963 for seven zones at 78 % (scipy's t.ppf gives both).
		if c.name == "one" && math.Abs(usual[1]/all[1]-2.015/2.963) > 0.001 {
			t.Errorf("usual in the lows: %.2f dB of %.2f", usual[1], all[1])
		}
	}
	cut := with(same, func(r *measure.Recording) { r.CutoffHz = 11000 })
	if all, _ := compare(t, ref(2, flat), cut).tolerances(0); !math.IsNaN(all[6]) || math.Abs(all[3]-8.00) > 0.06 {
		t.Errorf("six zones: mids %.2f, want 8.00; air, which is left out, %.2f", all[3], all[6])
	}
}

// A zone in which nothing is judged is left out, and says nothing on the whole.
func TestVerdictLeftOut(t *testing.T) {
	mix, ref := invented(1, 90, flat), invented(1, 90, flat)
	ref.CutoffHz = 11000
	k := compare(t, mix, ref).Verdict(0)
	if z := k.Zones[6]; z.Verdict != CannotTell || z.Why != LeftOutZone || !math.IsNaN(z.DifferenceDB) || !math.IsNaN(z.LowDB) || z.LeftOut.Cause != StopsThere || z.LeftOut.Hz != 11000 {
		t.Errorf("air: %+v", z)
	}
	if k.Verdict != NearEnough {
		t.Errorf("on the whole: %s", k.Verdict)
	}
}

func TestProgress(t *testing.T) {
	bell := func(db float64) func(hz float64) float64 {
		return through(biquad.Filter{Shape: biquad.Bell, FreqHz: 315, GainDB: db, Q: 0.8})
	}
	ref := invented(1, 90, flat)
	for _, c := range []struct {
		then, now float64
		zone      Nearness
		whole     Nearness
	}{{5, 2, Nearer, Nearer}, {2, 5, FurtherOff, FurtherOff}, {3, 3, AsBefore, AsBefore}, {4, -3.7, AsBefore, AsBefore}} {
		k := compare(t, invented(1, 90, bell(c.now)), ref).Verdict(0)
		k.SetBefore(compare(t, invented(1, 90, bell(c.then)), ref))
		z := k.Since.Zones[2]
		if z.Nearness() != c.zone || k.Since.Nearness() != c.whole || !k.Since.SameSong {
			t.Errorf("from %g to %g dB: %s, on the whole %s (%+v)", c.then, c.now, z.Nearness(), k.Since.Nearness(), k.Since)
		}
		if moved := c.now - c.then; z.MovedDB()*moved < 0 || math.Abs(z.MovedDB()) > math.Abs(moved) {
			t.Errorf("from %g to %g dB: moved %g", c.then, c.now, z.MovedDB())
		}
	}
}

// Near enough at 8 dB says little; at 1 dB, or within what was asked for, it says what it says.
func TestWideOnly(t *testing.T) {
	for _, c := range []struct {
		zone ZoneVerdict
		want bool
	}{
		{ZoneVerdict{DifferenceDB: -8, UsualDB: 8.3, ToleranceDB: 12}, true},
		{ZoneVerdict{DifferenceDB: 1, UsualDB: 8.3, ToleranceDB: 12}, false},
		{ZoneVerdict{DifferenceDB: 8, UsualDB: 10, ToleranceDB: 10}, false},
		{ZoneVerdict{DifferenceDB: 10, UsualDB: 8.3, ToleranceDB: 12, Verdict: Unusual}, false},
	} {
		if got := c.zone.WideOnly(); got != c.want {
			t.Errorf("%+v: %v", c.zone, got)
		}
	}
}

// What a check costs beside a comparison, two songs of four minutes.
func BenchmarkVerdict(b *testing.B) {
	c, err := Compare(invented(1, 240, flat), []*measure.Recording{invented(2, 240, flat)}, DefaultCompare())
	if err != nil {
		b.Fatal(err)
	}
	b.Run("joint", func(b *testing.B) {
		for b.Loop() {
			c.jointHalves()
		}
	})
	b.Run("sides", func(b *testing.B) {
		for b.Loop() {
			c.sideVerdicts()
		}
	})
	b.Run("compare", func(b *testing.B) {
		for b.Loop() {
			Compare(c.Mix, c.References, c.Options)
		}
	})
	b.Run("solve", func(b *testing.B) {
		for b.Loop() {
			c.Solve(DefaultSolve())
		}
	})
}
