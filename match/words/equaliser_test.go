package words

import (
	"fmt"
	"io"
	"testing"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/match/probe"
	"toneplumb/spectrum/finding"
)

// prints has a finding of each kind about prints of a probe or a second bounce.
func prints() (all []finding.Finding) {
	for _, kind := range probe.FindingKinds {
		all = append(all, probe.Finding{Kind: kind, Print: 3, DB: -2.1, WantDB: 6, Hz: 1000, Places: 4})
	}
	return all
}

// equaliserTexts has what is said of an equaliser that was learnt, but for the terms in
// match/probe/testdata/kinds.md.
func equaliserTexts(out io.Writer) {
	fmt.Fprintf(out, "\n## findings about prints and a second bounce\n")
	for _, f := range append(prints(), probe.Finding{Kind: probe.Balance, DB: 0.5}) {
		fmt.Fprintf(out, "%s %s: %s\n", f.Severity(), f.Code(), Finding(f))
	}
	for _, cause := range []probe.Cause{probe.OutsideRecording, probe.HardlyMusic, probe.MuchElse} {
		fmt.Fprintf(out, "%s: %s\n", cause, LeftOutOfBounce(cause))
	}
	fmt.Fprintf(out, "\n## prints: what each is, how far off\n")
	bell := biquad.Filter{Shape: biquad.Bell, FreqHz: 1000, GainDB: -3, Q: 1.4}
	shelf := biquad.Filter{Shape: biquad.LowShelf, FreqHz: 100, GainDB: 6, Q: 0.7071}
	cut := biquad.Filter{Shape: biquad.LowCut, FreqHz: 80, CutDBPerOct: 12}
	dialled := probe.Setting{Shape: biquad.LowCut}
	for _, m := range []*probe.Measured{{Filter: bell, WorstDB: -0.26, WorstHz: 1040}, {Filter: shelf, WorstDB: 0.004}, {NotDialled: true}, {OtherWay: true, Filter: bell},
		{Setting: dialled, Filter: cut}, {Setting: dialled}} {
		fmt.Fprintf(out, "%s; %s\n", Print(m), PrintOff(m))
	}
	fmt.Fprintln(out, FilterTerms(cut))
	fmt.Fprintf(out, "\n## what dials mean, and the top\n")
	e := &probe.Equaliser{RateHz: 48000, RestDB: map[biquad.Shape]float64{biquad.HighShelf: 0.4}, Terms: map[biquad.Shape]probe.Convention{
		biquad.Bell:     {Stated: fit.DialTerms{Width: fit.OwnWidth}, WidthInHz: true},
		biquad.LowShelf: {Stated: fit.DialTerms{Freq: fit.Corner, Width: fit.NoWidth}, FixedWidth: 0.5}}}
	for _, shape := range []biquad.Shape{biquad.Bell, biquad.LowShelf, biquad.HighShelf} {
		fmt.Fprintf(out, "%s: %s\n", Shape(shape), Dials(e, shape))
	}
	for _, e.Oversampling = range []float64{1, 2, probe.Analogue} {
		fmt.Fprintln(out, NearHalfRate(e), DialNotes(e))
	}
}

// A level that rounds to nothing has no sign.
func TestTrimGot(t *testing.T) {
	for level, want := range map[float64]string{-0.004: "0.00 dB", 0.004: "0.00 dB", 0: "0.00 dB", -0.006: "−0.01 dB", 0.006: "+0.01 dB", -1.5: "−1.50 dB"} {
		if got := TrimGot(&probe.TransferFunction{LevelDB: level}); got != want {
			t.Errorf("%g: %s, want %s", level, got, want)
		}
	}
}
