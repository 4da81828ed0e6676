package match

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// Hertz writes a frequency as people dial it: "425 Hz", "3.15 kHz".
func Hertz(hz float64) string {
	if hz < 999.5 {
		return fmt.Sprintf("%.3g Hz", hz)
	}
	return fmt.Sprintf("%.3g kHz", hz/1000)
}

// reason says in one line what one of the moves answers: the mean difference where
// it works, or where the sign of that is another, how that part stands against the
// rest.
func reason(r *Result, f biquad.Filter, all []biquad.Filter) string {
	low, high := reach(f)
	where := "around " + Hertz(f.FreqHz)
	switch f.Shape {
	case biquad.LowShelf:
		where = "below " + Hertz(f.FreqHz)
	case biquad.HighShelf:
		where = "above " + Hertz(f.FreqHz)
	}
	d, rest := r.judgedMean(r.DifferenceDB, low, high)
	if r.Mix == nil {
		return fmt.Sprintf("%s the curve is at %+.1f dB", where, d)
	}
	reference := "the reference"
	if len(r.References) > 1 {
		reference = "the references"
	}
	sure := ""
	if half := bandFactor * r.sure.meanSD(low, high); half >= 0.05 {
		sure = fmt.Sprintf(", ±%.1f", half)
	}
	wanted := func(db float64) bool { return db*f.GainDB > 0 && math.Abs(db) >= 0.05 }
	switch against := d - rest; {
	case wanted(d) && d > 0:
		return fmt.Sprintf("%s %.1f dB under %s%s", where, d, reference, sure)
	case wanted(d):
		return fmt.Sprintf("%s %.1f dB over %s%s", where, -d, reference, sure)
	case wanted(against) && against > 0:
		return fmt.Sprintf("%s %.1f dB low against the rest%s", where, against, sure)
	case wanted(against):
		return fmt.Sprintf("%s %.1f dB high against the rest%s", where, -against, sure)
	case len(all) > 1:
		return "evens out what the other moves do here"
	}
	return "brings the whole curve nearer"
}

// reach returns between which frequencies a move works: a shelf beyond its frequency,
// a bell between its half-gain points.
func reach(f biquad.Filter) (lowHz, highHz float64) {
	switch f.Shape {
	case biquad.LowShelf:
		return 0, f.FreqHz
	case biquad.HighShelf:
		return f.FreqHz, math.Inf(1)
	}
	half := math.Exp2(biquad.BandwidthFromQ(f.Q) / 2)
	return f.FreqHz / half, f.FreqHz * half
}

const (
	// swappedLU louder than its reference a mix may be the reference. Our choice:
	// finished records are louder than rough mixes.
	swappedLU = 4
	// thinSec of counted music or less is more phrase than song. Measured: halves
	// of a song differ by 6.7 dB rms at 10 s and by 2.6 at 80 s.
	thinSec = 60
)

// warnings says what makes a usable result doubtful: about the pair, about the
// moves, and last what the decoders noticed.
func warnings(r *Result) []string {
	var pair, decoders []string
	reference := "the reference"
	if len(r.References) > 1 {
		reference = "the references"
	}
	if d := -r.LevelDifferenceDB; d > swappedLU {
		pair = append(pair, fmt.Sprintf("the mix is %.1f LU louder than %s: are the two swapped?", d, reference))
	}
	sides := append([]*measure.Recording{r.Mix}, r.References...)
	for i, side := range sides {
		who := "the mix"
		if i > 0 {
			who = ReferenceName(i-1, len(r.References))
		}
		for _, w := range side.Warnings {
			decoders = append(decoders, who+": "+w)
		}
		if counted := side.MusicSec(); counted < thinSec {
			pair = append(pair, fmt.Sprintf("%s holds only %s of music: its tone is that of a phrase, not of a song", who, audio.Clock(counted)))
		}
		if from := side.CutoffHz / cutoffMargin; from > 0 && from < r.Options.RangeHz[1] {
			pair = append(pair, fmt.Sprintf("%s stops at %s, as lossy coding or a lower sample rate leaves it: nothing is advised above %s", who, Hertz(side.CutoffHz), Hertz(from)))
		}
	}
	return slices.Concat(pair, missingLows(r), cautions(r.Moves), decoders)
}

// missingLows tells of lows that one side does not have, and by how much.
func missingLows(r *Result) []string {
	sum, n, top := 0.0, 0, 0.0
	for b, why := range r.LeftOut {
		if hz := spectrum.CentreHz(b); why != "" && hz < lowsBelowHz && hz >= r.Options.RangeHz[0] {
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
	if less < 6 { // our choice: half the gate of leftOut; less is arrangement
		return nil
	}
	text := fmt.Sprintf("below %s %s has %.0f dB less: ", Hertz(math.Round(top)), side, less)
	if less > 40 { // our choice: no sound is left to speak of
		text = fmt.Sprintf("below %s %s has nothing: ", Hertz(math.Round(top)), side)
	}
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
				return math.Abs(f.GainDB) >= 1 && f.FreqHz >= 1000 && f.FreqHz <= 5000
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
