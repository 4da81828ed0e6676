package match

import (
	"fmt"
	"math"
	"strings"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
)

// Hertz writes a frequency as people dial it: "425 Hz", "3.15 kHz".
func Hertz(hz float64) string {
	if hz < 999.5 {
		return fmt.Sprintf("%.3g Hz", hz)
	}
	return fmt.Sprintf("%.3g kHz", hz/1000)
}

// Clock writes a time in seconds as m:ss or h:mm:ss.
func Clock(sec float64) string {
	s := int(math.Round(sec))
	if s >= 3600 {
		return fmt.Sprintf("%d:%02d:%02d", s/3600, s/60%60, s%60)
	}
	return fmt.Sprintf("%d:%02d", s/60, s%60)
}

// reason says in one line what a move answers: the mean difference where it works.
func reason(r *Result, f biquad.Filter) string {
	low, high := f.FreqHz, f.FreqHz
	var where string
	switch f.Shape {
	case biquad.LowShelf:
		low, where = 0, "below "+Hertz(f.FreqHz)
	case biquad.HighShelf:
		high, where = math.Inf(1), "above "+Hertz(f.FreqHz)
	default:
		half := math.Exp2(biquad.BandwidthFromQ(f.Q) / 2)
		low, high, where = low/half, high*half, zoneOf(f.FreqHz).Name
	}
	d := r.judgedMean(r.DifferenceDB, low, high)
	reference := "the reference"
	if len(r.References) > 1 {
		reference = "the references"
	}
	switch {
	case math.IsNaN(d) || d*f.GainDB <= 0 || math.Abs(d) < 0.05:
		return "evens out what the other moves do here"
	case d > 0:
		return fmt.Sprintf("%s %.1f dB under %s", where, d, reference)
	default:
		return fmt.Sprintf("%s %.1f dB over %s", where, -d, reference)
	}
}

const (
	// swappedLU louder than its reference a mix may be the reference. Our choice:
	// finished records are louder than rough mixes.
	swappedLU = 4
	// thinSec of counted music or less is more phrase than song. Measured: halves
	// of a song differ by 6.7 dB rms at 10 s and by 2.6 at 80 s.
	thinSec = 60
)

// warnings says what makes a usable result doubtful, most doubtful first.
func warnings(r *Result) []string {
	var all []string
	say := func(format string, args ...any) { all = append(all, fmt.Sprintf(format, args...)) }
	if d := -r.LevelDifferenceDB; d > swappedLU {
		say("the mix is %.1f LU louder than the reference: are the two swapped?", d)
	}
	sides := append([]*measure.Recording{r.Mix}, r.References...)
	for i, side := range sides {
		who := "the mix"
		if i > 0 {
			who = referenceName(i-1, len(r.References))
		}
		for _, w := range side.Warnings {
			say("%s: %s", who, w)
		}
		counted := 0.0
		for _, w := range side.GateWeights() {
			counted += w
		}
		if counted < thinSec {
			say("%s holds only %s of music: its tone is that of a phrase, not of a song", who, Clock(counted))
		}
		if from := side.CutoffHz / cutoffMargin; from > 0 && from < r.Comparison.Options.RangeHz[1] {
			say("%s stops at %s, as lossy coding leaves it: nothing is advised above %s", who, Hertz(side.CutoffHz), Hertz(from))
		}
	}
	all = append(all, missingLows(r)...)
	return append(all, cautions(r.Moves)...)
}

// missingLows tells of lows that one side does not have, and by how much.
func missingLows(r *Result) []string {
	sum, n, top := 0.0, 0, 0.0
	for b, why := range r.LeftOut {
		if hz := spectrum.CentreHz(b); why != "" && hz < lowsBelowHz && hz >= r.Comparison.Options.RangeHz[0] {
			sum, n, top = sum+r.rawDB[b], n+1, spectrum.EdgeHz(b+1)
		}
	}
	if n == 0 {
		return nil
	}
	side, less := "the mix", sum/float64(n)
	if less < 0 {
		side, less = "the reference", -less
	}
	text := fmt.Sprintf("below %s %s has %.0f dB less: ", Hertz(math.Round(top)), side, less)
	if side == "the mix" {
		return []string{text + "an equaliser cannot bring back what is not there; look at kick and bass"}
	}
	return []string{text + "nothing is advised there"}
}

// cautions are what to mind about the moves. All limits: common practice, no
// source, from memory.
func cautions(moves []Move) []string {
	var all []string
	for _, c := range []struct {
		text    string
		applies func(f biquad.Filter) bool
	}{
		{"more than a master bus usually takes; look at balance and single tracks first",
			func(f biquad.Filter) bool { return math.Abs(f.GainDB) > 3 }},
		{"also moves the voice; set its level first",
			func(f biquad.Filter) bool {
				return f.Shape == biquad.Bell && math.Abs(f.GainDB) >= 1 && f.FreqHz >= 1000 && f.FreqHz <= 5000
			}},
		{"equalisers differ near the top; check by ear",
			func(f biquad.Filter) bool { return f.FreqHz > 8000 }},
	} {
		var which []string
		for i, m := range moves {
			if c.applies(m.Filter) {
				which = append(which, fmt.Sprint(i+1))
			}
		}
		switch n := len(which); {
		case n == 1:
			all = append(all, fmt.Sprintf("move %s: %s", which[0], c.text))
		case n > 1:
			all = append(all, fmt.Sprintf("moves %s and %s: %s", strings.Join(which[:n-1], ", "), which[n-1], c.text))
		}
	}
	return all
}
