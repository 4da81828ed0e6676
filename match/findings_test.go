package match

import (
	"math"
	"reflect"
	"slices"
	"testing"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// find returns the findings of one kind.
func find[T finding.Finding](all finding.List) []T {
	var some []T
	for _, f := range all {
		if f, is := f.(T); is {
			some = append(some, f)
		}
	}
	return some
}

// codes are the kinds in their order.
func codes(all finding.List) []string {
	var some []string
	for _, f := range all {
		some = append(some, f.Code())
	}
	return some
}

// Of many files there is one finding of a kind, with the sides and their figures.
func TestOneFindingOfAKind(t *testing.T) {
	mix := invented(1, 90, flat)
	base := invented(2, 90, flat)
	of := func(n int, change func(i int, r *measure.Recording)) *Comparison {
		var all []*measure.Recording
		for i := range n {
			own := *base
			all = append(all, with(&own, func(r *measure.Recording) { change(i, r) }))
		}
		return compare(t, mix, all...)
	}
	c := of(9, func(i int, r *measure.Recording) {
		if i%3 > 0 {
			r.CutoffHz = 15000 + 100*float64(i)
		}
	})
	cut, to := find[LowPass](c.findings()), judgedTo(c)
	if len(cut) != 1 || len(cut[0].Hz) != 6 || cut[0].Hz[0] != (Figure{Side{2, 9}, 15100}) || cut[0].JudgedToHz != to || to == 0 {
		t.Errorf("low-passes of six of nine: %+v", cut)
	}
	damaged := func(remarks func(i int) []audio.Remark) []FileRemark {
		return find[FileRemark](of(8, func(i int, r *measure.Recording) { r.Warnings = remarks(i) }).findings())
	}
	alike := damaged(func(int) []audio.Remark { return []audio.Remark{{Kind: codec.Speech}} })
	if len(alike) != 1 || len(alike[0].Sides) != 8 {
		t.Errorf("one remark on eight files: %+v", alike)
	}
	twice := damaged(func(i int) []audio.Remark { return slices.Repeat([]audio.Remark{{Kind: codec.NoStart}}, max(0, i-5)) })
	if len(twice) != 2 || len(twice[0].Sides) != 2 || len(twice[1].Sides) != 1 {
		t.Errorf("one remark twice on the last of eight: %+v", twice)
	}
	moment := codec.StopsAt(90*44100-4096, 90*44100, 44100) // a frame of FLAC
	lost := damaged(func(i int) []audio.Remark { return []audio.Remark{moment, {Kind: codec.Speech}} })
	if len(lost) != 1 || lost[0].Kind != codec.Speech || len(lost[0].Sides) != 8 {
		t.Errorf("a moment lost at the end of eight files: %+v", lost)
	}
	moments := *mix
	moments.Warnings = []audio.Remark{moment}
	if all := find[FileRemark](compare(t, &moments, base).findings()); all != nil {
		t.Errorf("a moment lost at the end of the mix: %+v", all)
	}
	all := of(8, func(i int, r *measure.Recording) {
		r.Warnings = []audio.Remark{{Kind: codec.BadSamples, Count: int64(i + 2)}}
	}).findings()
	if n, more := len(find[FileRemark](all)), find[MoreFileRemarks](all); n != mostRemarks || len(more) != 1 || more[0].Count != 8-mostRemarks {
		t.Errorf("eight remarks: %d and %+v", n, more)
	}
	short := compare(t, mix, invented(3, 40, flat), base).findings()
	if got := find[ShortMusic](short); len(got) != 1 || len(got[0].Sec) != 1 || got[0].Sec[0].Side != (Side{1, 2}) {
		t.Errorf("one of two short: %+v", got)
	}
	for places, want := range map[int]int{0: 0, 1: 0, 2: 1, 40: 1} { // one may be the peak itself
		clipped := *mix
		clipped.ClippedPlaces = places
		if got := find[Clipped](compare(t, &clipped, base).findings()); len(got) != want || want > 0 && got[0].Places != places {
			t.Errorf("clipped in %d places: %+v", places, got)
		}
	}
}

// The heaviest finding comes first, those of one weight in the order of being found, and
// adding leaves a list that others hold as it is.
func TestOrderOfFindings(t *testing.T) {
	held := finding.List{TopMoves{}, LargeMoves{}, Swapped{}}.With()
	more := held.With(LowPass{}, TrimLowered{}, Mastered{})
	if got, want := codes(more), []string{"swapped", "trim-lowered", "large-moves", "mastered", "top-moves", "low-pass"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	if got, want := codes(held), []string{"swapped", "large-moves", "top-moves"}; !slices.Equal(got, want) {
		t.Errorf("the first list became %q, want %q", got, want)
	}
}

// A poor reference gives all its findings, and a check has the same but for the moves'.
func TestFindingsOfAPair(t *testing.T) {
	poor := with(invented(2, 40, func(hz float64) float64 {
		switch {
		case hz < 56:
			return -20
		case hz > 1000:
			return 12
		}
		return 0
	}), func(r *measure.Recording) {
		r.CutoffHz, r.Warnings = 16400, []audio.Remark{{Kind: codec.SoundMissing, Count: 1}}
	})
	mix := with(invented(1, 90, flat), func(r *measure.Recording) { r.CutoffHz = 13000 })
	c := compare(t, mix, poor)
	r := c.Solve(SolveOptions{MaxMoves: 1, TowardPercent: 100, Equaliser: DefaultSolve().Equaliser})
	if got, want := codes(r.Warnings), []string{"sound-missing", "short-music", "large-moves", "missing-lows", "low-pass", "stands-out"}; !slices.Equal(got, want) {
		t.Errorf("match: %q, want %q", got, want)
	}
	if got, want := codes(c.Verdict(0).Warnings), []string{"sound-missing", "short-music", "missing-lows", "low-pass"}; !slices.Equal(got, want) {
		t.Errorf("check: %q, want %q", got, want)
	}
	lows := find[MissingLows](r.Warnings)[0]
	if lows.OfMix || lows.References != 1 || lows.LessDB < 26 || lows.LessDB > 28 || lows.BelowHz < 55 || lows.BelowHz > 57 {
		t.Errorf("lows: %+v, want 27 dB less below 56 Hz in the reference", lows)
	}
	if low := find[LowPass](r.Warnings)[0]; len(low.Hz) != 2 || low.JudgedToHz != judgedTo(c) {
		t.Errorf("low-pass: %+v, want both sides and the end of the mix", low)
	}
}

// judgedTo is where what is judged ends.
func judgedTo(c *Comparison) float64 {
	_, hz := c.JudgedHz()
	return hz
}

// Where a sample rate or the range ends what is judged, no low-pass is blamed for it.
func TestWhatEndsTheJudged(t *testing.T) {
	lossy := with(invented(2, 60, flat), func(r *measure.Recording) { r.CutoffHz = 9530 })
	for rateHz, want := range map[int]float64{44100: 7985, 16000: 0} {
		c := compare(t, with(invented(1, 60, flat), func(r *measure.Recording) { r.Format.RateHz = rateHz }), lossy)
		if low := find[LowPass](c.findings()); len(low) != 1 || low[0].Hz[0].Value != 9530 || math.Abs(low[0].JudgedToHz-want) > 100 || want > 0 && low[0].JudgedToHz != judgedTo(c) {
			t.Errorf("mix at %d Hz: %+v, want the end of the reference, judged to %g Hz; it is %g", rateHz, low, want, judgedTo(c))
		}
	}
}

// The odd one of three references is a finding of match and of check.
func TestOddReferenceIsFound(t *testing.T) {
	tilted := func(seed uint64, db float64) *measure.Recording {
		return invented(seed, 60, through(biquad.Filter{Shape: biquad.HighShelf, FreqHz: 1000, GainDB: db, Q: 0.7}))
	}
	c := compare(t, invented(1, 60, flat), tilted(2, 0), tilted(3, 15), tilted(4, 0.3))
	for name, all := range map[string]finding.List{"match": c.Solve(DefaultSolve()).Warnings, "check": c.Verdict(0).Warnings} {
		if odd := find[OddReference](all); len(odd) != 1 || odd[0].Index != 1 {
			t.Errorf("%s: %+v, want reference 2", name, odd)
		}
	}
}

func TestMoveFindings(t *testing.T) {
	bell := func(hz, db float64) Move {
		return Move{Filter: biquad.Filter{Shape: biquad.Bell, FreqHz: hz, GainDB: db, Q: 1}}
	}
	low := spectrum.Centres()[100]
	for _, c := range []struct {
		name  string
		moves []Move
		want  finding.List
	}{
		{"3 dB", []Move{bell(300, -3)}, nil},
		{"more", []Move{bell(300, -5), bell(300, 1), bell(300, 5)}, finding.List{LargeMoves{[]int{1, 3}}}},
		{"two in one place", []Move{bell(low, 4), bell(low, 3)}, finding.List{AddUp{7, low}}},
		{"little more together", []Move{bell(300, 4), bell(300, 1)}, nil},
		{"a little of the voice", []Move{bell(2000, 1.5)}, nil},
		{"the voice", []Move{bell(2000, -2)}, finding.List{VoiceMoves{[]int{1}}}},
		{"the top", []Move{bell(100, 1), bell(9000, 1)}, finding.List{TopMoves{[]int{2}}}},
	} {
		if got := moveFindings(c.moves, 48000); !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
	}
	// Who names a track of the mix hears of smaller moves too, once.
	for _, db := range []float64{1.5, 2.5} {
		r := &Result{Moves: []Move{bell(2000, db)}}
		r.Warnings = moveFindings(r.Moves, 48000)
		r.SetLead(Lead{Name: "vox.wav"})
		if got := find[VoiceMoves](r.Warnings); len(got) != 1 || r.Lead == nil {
			t.Errorf("%g dB beside a track: %+v", db, r.Warnings)
		}
	}
	// Moves that are dialled already and kept are not to be looked at again.
	r := &Result{Moves: []Move{bell(2000, 5)}, Warnings: finding.List{PreviousMoves{Use: Held}}}
	if r.SetLead(Lead{Name: "vox.wav"}); len(r.Warnings) != 1 || r.Lead == nil {
		t.Errorf("beside kept moves: %+v", r.Warnings)
	}
}

func TestConfirmWarns(t *testing.T) {
	for _, c := range []struct {
		name           string
		dBTP           float64
		trimDB, lowers float64 // 0: no warning
	}{
		{"over full scale", 0.83, -0.7, 1.9},
		{"under it", -0.95, 1.1, 0.1},
		{"as R 128 has it", -1, 0, 0},
		{"low", -12, 0, 0},
	} {
		r := &Result{TrimDB: 1.23, Comparison: &Comparison{}}
		r.Warnings = finding.List{WiderApart{}}
		r.Confirm(Confirmed{TruePeakDBTP: c.dBTP})
		r.Confirm(Confirmed{TruePeakDBTP: c.dBTP}) // found once
		var want finding.List
		if c.lowers != 0 {
			want = finding.List{TrimLowered{c.dBTP, c.lowers}}
			if got := r.Settings().TrimDB; got != c.trimDB || r.Confirmed.TruePeakDBTP > MostTruePeakDBTP {
				t.Errorf("%s: the trim is %g dB, want %g; the peak %g dBTP", c.name, got, c.trimDB, r.Confirmed.TruePeakDBTP)
			}
		}
		if want = append(want, WiderApart{}); !reflect.DeepEqual(r.Warnings, want) {
			t.Errorf("%s: %+v, want %+v", c.name, r.Warnings, want)
		}
	}
}

// What counts is one finding a side, whatever the number of references.
func TestPartCounts(t *testing.T) {
	references := slices.Repeat([]*measure.Recording{invented(2, 90, flat)}, 7)
	_, _, all, err := Parts{LoudestSec: 30}.Apply(invented(1, 90, flat), references)
	got := find[PartCounts](all)
	if err != nil || len(got) != 2 || !got[0].Loudest || !got[0].Sides[0].IsMix() || len(got[1].Sides) != 7 || got[1].Sec != 30 {
		t.Errorf("the loudest: %+v, %v", got, err)
	}
	_, _, all, err = Parts{Reference: measure.Passages{{10, 50}}}.Apply(invented(1, 90, flat), references)
	got = find[PartCounts](all)
	if err != nil || len(got) != 1 || got[0].Loudest || got[0].Passages[6].String() != "0:10-0:50" {
		t.Errorf("a part of the references: %+v, %v", got, err)
	}
}

// A level pair says nothing.
func TestNoFindings(t *testing.T) {
	if got := compare(t, invented(1, 90, flat), invented(2, 90, flat)).Solve(SolveOptions{Equaliser: fit.Default()}).Warnings; len(got) > 0 {
		t.Errorf("%+v", got)
	}
}

// The warning of a reference farther than songs by one maker are is for a rough mix with moves, and as measured for
// references that a rough mix is told to exchange.
func TestFarApart(t *testing.T) {
	tilted := func(db float64) *measure.Recording {
		return invented(2, 90, func(hz float64) float64 { return db * math.Log10(hz/1000) })
	}
	for _, row := range []struct {
		tiltDB float64
		stage  Stage
		want   bool
	}{{13, Rough, true}, {5, Rough, false}, {13, AsMeasured, false}, {30, Rough, false}, {30, AsMeasured, true}, {30, Finished, false}} {
		o := DefaultSolve()
		o.Stage = row.stage
		r := compare(t, invented(1, 90, flat), tilted(row.tiltDB)).Solve(o)
		if got := slices.Contains(codes(r.Warnings), "far-apart"); got != row.want {
			t.Errorf("%g dB a decade, %s: %v at %.1f dB, %d moves", row.tiltDB, row.stage, got, r.DistanceBeforeDB, len(r.Moves))
		}
	}
}
