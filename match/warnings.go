package match

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
)

const (
	// swappedLU louder than its reference a mix may be the reference. Our choice:
	// finished records are louder than rough mixes.
	swappedLU = 4
	// thinSec of counted music or less is more phrase than song. Measured: halves
	// of a song differ by 6.7 dB rms at 10 s and by 2.6 at 80 s.
	thinSec = 60
)

// warnings says what makes a usable result doubtful: damage to a file, the pair, lows
// that are missing, the moves.
func warnings(r *Result) []string {
	var pair []string
	if d := -r.LevelDifferenceDB; d > swappedLU {
		pair = append(pair, fmt.Sprintf("the mix is %.1f LU louder than the %s: are the two swapped?", d, r.reference()))
	}
	pair = append(pair, r.thin()...)
	// Both distances are written with two decimals. The target sees what stands out of
	// arrangement as broad trends, the distance every band alike: they can part.
	if after, before := math.Round(100*r.DistanceAfterDB), math.Round(100*r.DistanceBeforeDB); len(r.Moves) > 0 && after > before {
		pair = append(pair, fmt.Sprintf("the moves leave the distance larger, %.2f dB against %.2f before", r.DistanceAfterDB, r.DistanceBeforeDB))
	}
	if w := Mastered(r.Mix, r.References); w != "" {
		pair = append(pair, w)
	}
	return slices.Concat(r.fileWarnings(), pair, cutoffs(r), missingLows(r), cautions(r.Moves))
}

// sides are the mix and the references.
func (c *Comparison) sides() []*measure.Recording {
	return append([]*measure.Recording{c.Mix}, c.References...)
}

// asCoded says what leaves a spectrum that ends there. The MP3 bit rates are where
// LAME 3.100 ends by its own account, which was measured to within 0.2 kHz.
func asCoded(cutoffHz float64) string {
	const nearHz = 300 // our choice: less than half the way from one to the next
	for _, c := range []struct{ kbits, hz float64 }{
		{64, 10900}, {96, 15100}, {128, 16500}, {160, 17200}, {192, 18700}, {256, 19400}, {320, 20100},
	} {
		if math.Abs(cutoffHz-c.hz) <= nearHz {
			return fmt.Sprintf("as a %.0f kbit/s MP3 does", c.kbits)
		}
	}
	return "as lossy coding or a lower sample rate leaves it"
}

// missingLows tells of lows that one side does not have, and by how much.
func missingLows(r *Result) []string {
	sum, n, top := 0.0, 0, 0.0
	for b, missing := range r.unread {
		if hz := spectrum.CentreHz(b); missing && hz < lowsBelowHz && hz >= r.Options.RangeHz[0] {
			sum, n, top = sum+r.rawDB[b], n+1, spectrum.EdgeHz(b+1)
		}
	}
	if n == 0 {
		return nil
	}
	side, other, less := "the mix has", "the "+r.reference(), sum/float64(n)
	if less < 0 {
		side, other, less = other+" have", "the mix", -less
		if len(r.References) == 1 {
			side = "the reference has"
		}
	}
	if less < 6 { // our choice: half the gate of leftOut; less is arrangement
		return nil
	}
	text := fmt.Sprintf("below %s %s %.0f dB less than %s: ", Hertz(math.Round(top)), side, less, other)
	if less > 40 { // our choice: no sound is left to speak of
		text = fmt.Sprintf("below %s %s nothing: ", Hertz(math.Round(top)), side)
	}
	if side == "the mix has" {
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
		{"also moves the voice, if there is one; set its level first",
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
