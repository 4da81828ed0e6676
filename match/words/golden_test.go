package words

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/listen"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/testkit"
)

func side(number, of int) match.Side { return match.Side{Number: number, Of: of} }

func figures(of int, values ...float64) []match.Figure { // of the mix first, NaN: not of this side
	var all []match.Figure
	for i, v := range values {
		if !math.IsNaN(v) {
			all = append(all, match.Figure{Side: side(i, of), Value: v})
		}
	}
	return all
}

// findings has every kind, beside so many references.
func findings(n int) []finding.Finding {
	nan := math.NaN()
	var references []match.Side
	values := []float64{nan}
	for i := range n {
		references, values = append(references, side(i+1, n)), append(values, 15100+700*float64(i))
	}
	passages := measure.Passages{{45, 75}}
	two := measure.Passages{{45, 75}, {120, 150}}
	named := match.Named{Names: []string{"one.wav", "two.flac", "three.mp3"}[:n], Of: 12}
	all := []finding.Finding{
		match.TruePeak{DBTP: -0.31},
		match.TrimLowered{DBTP: 0.83, LowerDB: 1.9},
		match.Swapped{LU: 5.23, References: n},
		match.PreviousMoves{Name: "moves.json", DistanceDB: 2.134},
		match.PreviousMoves{Name: "moves.json", DistanceDB: nan, Use: match.TakenAway}, // of a ranking
		match.NoTrace{Name: "moves.json"},
		match.OtherMix{Variant: 3, Moves: match.Variant(3).Moves()},
		match.WiderApart{BeforeDB: 1.9, AfterDB: 2.1, References: n},
		match.FileRemark{Sides: references, Remark: codec.Lost(codec.Silenced, 90*44100, 2*44100, 44100)},
		match.FileRemark{Sides: references[n-1:], Remark: audio.Remark{Kind: codec.Speech}},
		match.FileRemark{Sides: []match.Side{side(0, n)}, Remark: audio.Remark{Kind: codec.Speech}},
		match.MoreFileRemarks{Count: n},
		match.ShortMusic{Sec: figures(n, 40)},
		match.ShortMusic{Sec: append(figures(n, 40), match.Figure{Side: side(n, n), Value: 52})},
		match.Clipped{Places: 12},
		match.Mono{Sides: []match.Side{side(0, n)}}, match.Mono{Sides: references[n-1:]},
		match.Mastered{ReferenceDB: 8.91, MixDB: 16, References: n},
		match.FarApart{ApartDB: 10.7, References: n},
		match.FarApart{ApartDB: 10.7, References: n, Headed: true},
		match.MissingLows{OfMix: true, BelowHz: 56.2, LessDB: 9.4, References: n},
		match.MissingLows{OfMix: true, BelowHz: 56.2, LessDB: 52, References: n},
		match.MissingLows{BelowHz: 56.2, LessDB: 27, References: n},
		match.LowPass{Hz: figures(n, values...), JudgedToHz: 12698},
		match.LowPass{Hz: append(figures(n, 17300), match.Figure{Side: side(n, n), Value: 17300}), JudgedToHz: 14550},
		match.LowPass{Hz: figures(n, 9530)}, // and a sample rate sets the limit
		match.StandsOut{Zone: match.Zones()[n-1], DB: float64(2*n-3) * 9.3, References: n},
		match.LargeMoves{Moves: []int{1, 3}[:min(2, n)]},
		match.AddUp{DB: float64(2*n-3) * 10.1, Hz: 2060},
		match.ReachesOut{Above: n > 1, Hz: 6490, DB: float64(2*n-3) * 9.2},
		match.VoiceMoves{Moves: []int{2, 3, 4}[:n]},
		match.TopMoves{Moves: []int{2, 4}[:min(2, n)]},
		match.PartCounts{Sides: []match.Side{side(0, n)}, Passages: []measure.Passages{two}},
		match.FileRemark{Remark: codec.MissingIn(1, 0, -1, 44100)},
		match.MixItself{Named: named}, match.OwnSong{Named: named},
		match.JudgedShort{Named: named, LeastHz: 12300, MostHz: 12300 + 1700*float64(n-1)},
		match.OddRecommended{Name: "two.flac", DistanceDB: 7.1, OthersDB: 2.2},
		listen.Louder{By: 30}, listen.Louder{By: 12, Of: listen.MovesAlone}, listen.Louder{By: 7.5, Of: listen.Levelled}, listen.Louder{By: 7, Of: listen.PlannedMix},
		listen.DesignedAnew{FromHz: 96000, AtHz: 44100},
		listen.WrittenAsFloat{Wanted: audio.PCM16, Frames: int64(2*n - 1)},
		listen.PeakAfter{DBTP: 0.42, TrimDB: -1.3}, listen.PeakAfter{DBTP: 0.42, Of: listen.Levelled}, listen.PeakAfter{DBTP: 0.42, Of: listen.PlannedMix},
		match.PartCounts{Sides: references, Passages: []measure.Passages{passages, two, passages}[:n], Loudest: true, Sec: 30},
	}
	if n > 1 {
		all = append(all, match.OddReference{Index: 1, DistanceDB: 8.23, OthersDB: 3.1})
	}
	return all
}

// Samples are the findings for the page of messages.
func Samples() []finding.Finding { return append(findings(1), findings(3)...) }

// many are findings about more references than are named.
func many() []finding.Finding {
	var references []match.Side
	var values = []float64{math.NaN()}
	var passages []measure.Passages
	for i := range 9 {
		references, values = append(references, side(i+1, 9)), append(values, 16500)
		passages = append(passages, measure.Passages{{10, 50}})
	}
	return []finding.Finding{
		match.FileRemark{Sides: references[:6], Remark: codec.MissingIn(3, 44100, 441000, 44100)},
		match.LowPass{Hz: figures(9, values...), JudgedToHz: 13875},
		match.PartCounts{Sides: references, Passages: passages, Loudest: true, Sec: 40},
		match.PartCounts{Sides: references, Passages: passages},
		match.PartCounts{Sides: references, Passages: passages, SameSong: true},
	}
}

// whys has every reason of a move.
func whys() []match.Move {
	nan := math.NaN()
	bell := biquad.Filter{Shape: biquad.Bell, FreqHz: 425, GainDB: -3, Q: 1}
	low := biquad.Filter{Shape: biquad.LowShelf, FreqHz: 71, GainDB: 3, Q: 1}
	high := biquad.Filter{Shape: biquad.HighShelf, FreqHz: 6300, GainDB: 3, Q: 1}
	of := func(f biquad.Filter, reason match.Reason, db, together float64, n int) match.Move {
		return match.Move{Filter: f, Why: match.Why{Reason: reason, DB: db, HalfDB: 0.4, OthersDB: nan, TogetherDB: together, References: n}}
	}
	return []match.Move{
		of(bell, match.Off, -2.8, nan, 1), of(low, match.Off, 1.4, 0.6, 3),
		of(bell, match.OffRest, -3.4, nan, 1), of(high, match.OffRest, 2.2, nan, 1),
		of(bell, match.MakesGood, -1.9, nan, 1), of(high, match.MakesGood, 1.9, nan, 1),
		of(bell, match.FollowsCurve, -2.1, nan, 0), of(bell, match.WithOthers, 0, nan, 1), of(bell, match.ForTheWhole, 0, nan, 1),
	}
}

func texts() string {
	var out bytes.Buffer
	for _, n := range []int{1, 3} {
		fmt.Fprintf(&out, "## findings, %d references\n", n)
		for _, f := range findings(n) {
			fmt.Fprintf(&out, "%s %s: %s\n", f.Severity(), f.Code(), Finding(f))
		}
	}
	fmt.Fprintf(&out, "\n## findings, 9 references\n")
	for _, f := range many() {
		fmt.Fprintf(&out, "%s %s: %s\n", f.Severity(), f.Code(), Finding(f))
	}
	fmt.Fprintf(&out, "\n## remarks on files\n")
	for _, kind := range codec.Kinds {
		fmt.Fprintf(&out, "%s: %s\n", kind, Remark(audio.Remark{Kind: kind, AtSec: 83, LostSec: 12.4, OfSec: 95.4, Count: 48000, Text: "this and that"}))
	}
	for _, r := range []audio.Remark{codec.StopsAt(44099, 44100, 44100), codec.Lost(codec.SoundMissing, 0, 9*44100, 44100), codec.MissingIn(2, 0, -1, 44100)} {
		fmt.Fprintf(&out, "%s: %s\n", r.Kind, Remark(r))
	}
	fmt.Fprintf(&out, "\n## why a move\n")
	for _, m := range whys() {
		fmt.Fprintf(&out, "%s: %s\n", m.Why.Reason.Code(), Why(m))
	}
	fmt.Fprintf(&out, "\n## why no moves\n")
	for o := match.Advised; o <= match.NoneHelps; o++ {
		for _, n := range []match.NoMoves{{Outlook: o, ApartDB: 1.23, Usual: true, OwnSong: true}, {Outlook: o, ApartDB: 3.21}, {Outlook: o, Curve: true}, {Outlook: o, ApartDB: 2.5, LeastDB: 1.5}, {Outlook: o, ApartDB: 4.6, Own: true}} {
			fmt.Fprintf(&out, "%s: %s\n", o.Code(), NoMoves(n))
		}
	}
	fmt.Fprintf(&out, "\n## left out\n")
	for cause := match.SampleRate; cause <= match.OutsideRange; cause++ {
		fmt.Fprintf(&out, "%s: %s\n", cause.Code(), Exclusion(match.Exclusion{Cause: cause, Side: side(2, 3), Hz: 16500}))
	}
	fmt.Fprintf(&out, "\n## side and mid\n")
	zones := match.Zones()
	for _, v := range [][]match.SideVerdict{
		{{Zone: zones[3], MiddleDB: 0.4, SidesDB: 3, WholeDB: 1}},
		{{Zone: zones[2], SidesDB: -5, WholeDB: -1, JudgedHz: [2]float64{200}}, {Zone: zones[3], MiddleDB: 0.2, SidesDB: -7, WholeDB: -1}, {Zone: zones[4], MiddleDB: -0.2, SidesDB: -6, WholeDB: -1, JudgedHz: [2]float64{1: 4810}}},
		{{Zone: zones[3], MiddleDB: -1.9, SidesDB: 3.6, WholeDB: -1.4}},
		{{Zone: zones[4], MiddleDB: -4, SidesDB: -1, WholeDB: -3}, {Zone: zones[5], MiddleDB: -3, SidesDB: 0.4, WholeDB: -2}},
		{{Zone: zones[1], MiddleDB: 2, SidesDB: 5, WholeDB: 2.5, Bounded: true}},
	} {
		for n := 1; n <= 2; n++ {
			for _, text := range SideFindings(v, n) {
				fmt.Fprintln(&out, text)
			}
		}
	}
	fmt.Fprintf(&out, "\n## a single track, another stage\n")
	for _, lu := range []float64{0.42, -0.42, 0.02} {
		fmt.Fprintln(&out, Lead(match.Lead{Name: "vox.wav", ChangeLU: lu}, false))
	}
	fmt.Fprintln(&out, Lead(match.Lead{Name: "vox.wav", ChangeLU: 0.42}, true))
	asMeasured := match.Alternative{Stage: match.AsMeasured, Moves: 3, LargestDB: 4.5, DistanceAfterDB: 1.2}
	rough := match.Alternative{Stage: match.Rough, Moves: 1, LargestDB: 2, DistanceAfterDB: 2}
	for _, others := range [][]match.Alternative{{{Stage: match.Finished}, asMeasured}, {rough, asMeasured}, {rough, {Stage: match.Finished}}} {
		fmt.Fprintln(&out, Alternatives(others))
	}
	return out.String()
}

func TestGolden(t *testing.T) {
	const file = "testdata/words.txt"
	out := bytes.NewBufferString(texts())
	trackTexts(out)
	planTexts(out)
	equaliserTexts(out)
	testkit.Golden(t, file, out.Bytes())
}

// No sentence about a mix is longer than what is read at once. Of tracks and eqread some are, by up to 8 words.
func TestSentencesAreShort(t *testing.T) {
	var others bytes.Buffer
	trackTexts(&others)
	planTexts(&others)
	equaliserTexts(&others)
	const mostWords = 25
	for all, most := range map[string]int{texts(): mostWords, others.String(): mostWords + 8} {
		for line := range strings.Lines(all) {
			for _, sentence := range strings.FieldsFunc(strings.ReplaceAll(line, ". ", "|"), func(c rune) bool { return c == '|' || c == '?' }) {
				if n := len(strings.Fields(sentence)); n > most {
					t.Errorf("%d words: %s", n, sentence)
				}
			}
		}
	}
}
