package tracks

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure/multitrack"
)

// Single tracks whose truth is known: MIDI songs, each channel rendered by itself, the mix
// their sum. TONEPLUMB_MIDI_FILES names the folder of the songs; .ci/run fetches
// them. A filter is put on one stem or on the sum, and it is asked who carries the
// difference.

// song is a song in stems.
type song struct {
	name  string
	names []string
	stems []sound
	later []sound
}

// Songs whose first minute has several tracks at once. The thresholds were set while looking at
// the first ten; the other six were first tried when they stood.
var (
	chosenOn = []string{"flying_scotsman", "keep_on_rolling", "city_blues_redfarn", "5432gone_redfarn", "tttheme2", "chuggachugga", "careless_perc_redfarn", "boogi_marabi_redfarn", "say_what_redfarn", "mighty_giant_run"}
	heldOut  = []string{"the_hobo_redfarn", "modern_motion", "linns_basket", "midnight_snow_run", "run_for_your_life", "the_fast_route"}
)

const truthSec = 45

// stemsOf renders the channels of a song that sound in its first part.
func stemsOf(t *testing.T, path string) song { return stemsWith(t, path, soundFont) }

func stemsWith(t *testing.T, path, font string) song {
	t.Helper()
	file, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	channels, err := splitMIDI(file)
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	s := song{name: strings.TrimSuffix(filepath.Base(path), ".mid")}
	for c, midi := range channels {
		if midi == nil {
			continue
		}
		x := renderWith(t, font, midi, 2*truthSec)
		y := sound{x[0], x[1]}
		if slices.Max(x[0][:truthSec*44100]) < 1e-3 {
			continue
		}
		s.stems = append(s.stems, y.part(0, truthSec*44100))
		s.later = append(s.later, y.part(truthSec*44100, 2*truthSec*44100))
		s.names = append(s.names, fmt.Sprintf("channel-%d.wav", c+1))
	}
	return s
}

// truthCase is one song with a filter somewhere.
type truthCase struct {
	kind   string
	filter biquad.Filter
	want   []int // the stems; none: the master
}

// The kinds of truth.
const (
	oneTrack  = "one track"
	theSum    = "sum"
	twoTracks = "two tracks together"
)

// tally counts the cases of one kind.
type tally struct{ right, open, wrong int }

func (y *tally) count(right, open bool) {
	switch {
	case right:
		y.right++
	case open:
		y.open++
	default:
		y.wrong++
	}
}

// truthShare of the cases with a known filter must be named rightly.
const truthShare = 0.9

func TestTruth(t *testing.T) {
	folder := os.Getenv("TONEPLUMB_MIDI_FILES")
	if folder == "" {
		t.Skip("TONEPLUMB_MIDI_FILES names no folder of MIDI songs; .ci/run does")
	}
	songs := heldOut[1:2]
	if os.Getenv("TONEPLUMB_LONG") != "" {
		songs = slices.Concat(chosenOn, heldOut)
	}
	var lock sync.Mutex
	results, curves, quickCurves := map[string]*tally{}, []float64{}, []float64{}
	count := func(row string, right, open bool) {
		if results[row] == nil {
			results[row] = &tally{}
		}
		results[row].count(right, open)
	}
	t.Run("songs", func(t *testing.T) {
		for _, name := range songs {
			t.Run(name, func(t *testing.T) {
				t.Parallel()
				s := stemsOf(t, filepath.Join(folder, name+".mid"))
				plain := sumOf(s.stems)
				whole := measured(t, plain, "plain.wav")
				for _, tc := range casesOf(s, inStep(t, whole, plain, s.names, s.stems)) {
					stems, mixSound := slices.Clone(s.stems), plain
					for _, i := range tc.want {
						stems[i] = stems[i].through(tc.filter)
						mixSound = sumOf(stems)
					}
					if tc.kind == theSum {
						mixSound = plain.through(tc.filter)
					}
					mix := measured(t, mixSound, "mix.wav")
					a := advised(t, mix, mixSound, whole, s.names, stems, Options{})
					right, open, said := judgeTruth(a, tc.want)
					apart, told := tracksApart(t, a, mixSound, stems)
					quick := Advise(a.Result, a.Together, Options{}) // by the formula alone
					quickApart, _ := tracksApart(t, quick, mixSound, stems)
					lock.Lock()
					half := "held out"
					if slices.Contains(chosenOn, name) {
						half = "chosen on"
					}
					count(tc.kind+", "+half, right, open)
					if told {
						curves, quickCurves = append(curves, apart), append(quickCurves, quickApart)
					}
					lock.Unlock()
					t.Logf("%-20s %v %4.0f Hz %+.1f dB want %v: right %v, curve %.3f, by the formula %.3f%s", tc.kind, tc.filter.Shape, tc.filter.FreqHz, tc.filter.GainDB, tc.want, right, apart, quickApart, said)
				}
			})
		}
	})
	right, all := 0, 0
	for _, row := range slices.Sorted(maps.Keys(results)) {
		y := results[row]
		n := y.right + y.open + y.wrong
		t.Logf("%-50s %2d of %2d right, %d not told, %d wrong", row, y.right, n, y.open, y.wrong)
		if strings.HasPrefix(row, oneTrack+", held") || strings.HasPrefix(row, theSum+", held") {
			right, all = right+y.right, all+n
		}
	}
	if all == 0 || len(curves) == 0 {
		t.Fatalf("%d cases of songs no threshold was chosen on, %d curves", all, len(curves))
	}
	if float64(right) < truthShare*float64(all) {
		t.Errorf("%d of %d named rightly on songs no threshold was chosen on, want %g", right, all, truthShare)
	}
	for _, row := range []struct {
		name   string
		curves []float64
		must   bool
	}{{"told, once the move is measured", curves, true}, {"by the formula alone", quickCurves, false}} {
		slices.Sort(row.curves)
		within, _ := slices.BinarySearch(row.curves, effectToleranceDB)
		t.Logf("curve %s, against the measured one: %d of %d within %g dB, median %.3f, worst %.3f", row.name, within, len(row.curves), effectToleranceDB, median(row.curves), row.curves[len(row.curves)-1])
		if row.must && within < len(row.curves) {
			t.Errorf("%d of %d curves within %g dB", within, len(row.curves), effectToleranceDB)
		}
	}
}

// tracksApart is how far the measured change of the mix lies from what is said of the largest
// move that has a setting where it belongs; not told where there is none.
func tracksApart(t *testing.T, a *Advice, mix sound, stems []sound) (apart float64, told bool) {
	m := largestMove(a, func(m *Move) bool { return m.Where != OnTrack || m.Instead != nil })
	switch {
	case m == nil:
		return 0, false
	case m.Where == OnTrack:
		return effectApart(t, a, m.Instead, mix, stems), true
	}
	return curveApart(t, a, mix.through(m.Filter), m.MasterDB), true
}

// largestMove is the move of a kind with the most gain, nil where there is none.
func largestMove(a *Advice, is func(*Move) bool) (best *Move) {
	for i := range a.Moves {
		if m := &a.Moves[i]; is(m) && (best == nil || math.Abs(m.Filter.GainDB) > math.Abs(best.Filter.GainDB)) {
			best = m
		}
	}
	return best
}

// judgeTruth tells whether the largest move is put where the filter was, or left open.
func judgeTruth(a *Advice, want []int) (right, open bool, said string) {
	best := largestMove(a, func(*Move) bool { return true })
	for i := range a.Moves {
		m := &a.Moves[i]
		said += fmt.Sprintf("\n      %v %.0f Hz %+.1f dB: where %d on %d with %v alike %v, same moments %v, master %.2f tracks %.2f together %.2f shares %.2f", m.Filter.Shape, m.Filter.FreqHz, m.Filter.GainDB,
			m.Where, m.Track, m.With, m.Alike, m.Why.SameMoments, m.Why.MasterDB, m.Why.TrackDB, m.Why.TogetherDB, m.Shares)
	}
	if best == nil {
		return false, true, " no move"
	}
	if len(want) == 0 {
		return best.Where == Master, best.Where == Either, said
	}
	on := append([]int{best.Track}, best.With...)
	slices.Sort(on)
	return best.Where == OnTrack && slices.Equal(on, want), best.Where == Either, said
}

// casesOf chooses filters that can be heard: on the two stems with the largest share of a zone,
// on both at once where the second holds enough, and two on the sum.
func casesOf(s song, together *multitrack.Table) []truthCase {
	type place struct {
		stem, zone int
		share      float64
	}
	var places []place
	zones := match.Zones()
	share := func(k int, zone match.Zone) float64 {
		x, m := 0.0, 0.0
		for b := range spectrum.BandCount {
			if hz := spectrum.CentreHz(b); hz >= zone.LowHz && hz < zone.HighHz {
				x, m = x+together.Tracks[k].Re[b], m+together.MixPower[b]
			}
		}
		return x / m
	}
	for z := 1; z < 6; z++ {
		for k := range together.Tracks {
			places = append(places, place{k, z, share(k, zones[z])})
		}
	}
	slices.SortStableFunc(places, func(a, b place) int { return cmp.Compare(b.share, a.share) })
	filter := func(z int, gainDB float64) biquad.Filter {
		hz := math.Sqrt(zones[z].LowHz * zones[z].HighHz)
		switch {
		case hz > 3000:
			return biquad.Filter{Shape: biquad.HighShelf, FreqHz: 3000, GainDB: gainDB, Q: math.Sqrt2 / 2}
		case hz < 150:
			return biquad.Filter{Shape: biquad.LowShelf, FreqHz: 160, GainDB: gainDB, Q: math.Sqrt2 / 2}
		}
		return biquad.Filter{Shape: biquad.Bell, FreqHz: hz, GainDB: gainDB, Q: 0.8}
	}
	var cases []truthCase
	used := map[int]bool{}
	gains := []float64{6, 5, 8, -6}
	const least = 0.25 // of a zone, or the filter is hardly heard
	for _, p := range places {
		if used[p.stem] || len(cases) == 2 || p.share < least {
			continue
		}
		used[p.stem] = true
		cases = append(cases, truthCase{oneTrack, filter(p.zone, gains[(len(cases)+len(s.name))%len(gains)]), []int{p.stem}})
	}
	for i := range 2 {
		cases = append(cases, truthCase{theSum, []biquad.Filter{
			{Shape: biquad.LowShelf, FreqHz: 140, GainDB: 4, Q: math.Sqrt2 / 2},
			{Shape: biquad.Bell, FreqHz: 350, GainDB: 5, Q: 0.7},
			{Shape: biquad.Bell, FreqHz: 2500, GainDB: -5, Q: 0.8},
			{Shape: biquad.HighShelf, FreqHz: 4000, GainDB: 5, Q: math.Sqrt2 / 2},
			{Shape: biquad.Bell, FreqHz: 900, GainDB: 4, Q: 0.6},
		}[(len(s.name)+2*i)%5], nil})
	}
	for z := 1; z < 6; z++ { // two that hold a quarter of one zone each, and not all of it
		var two []int
		sum := 0.0
		for k := range together.Tracks {
			if x := share(k, zones[z]); x >= least {
				two, sum = append(two, k), sum+x
			}
		}
		if len(two) == 2 && sum < 0.85 {
			return append(cases, truthCase{twoTracks, filter(z, 6), two})
		}
	}
	return cases
}
