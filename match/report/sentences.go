package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"toneplumb/match"
)

// OverUnder writes a difference, reference less mix, as where the mix stands.
func OverUnder(db float64) string {
	switch {
	case math.Abs(db) < 0.05:
		return "level"
	case db > 0:
		return fmt.Sprintf("%.1f dB under", db)
	default:
		return fmt.Sprintf("%.1f dB over", -db)
	}
}

// distance is how far apart the sides are, before and with the moves.
func distance(r *match.Result) string {
	text, with := "Distance from the reference, level aside: %.2f dB", ", with the moves %.2f dB"
	switch {
	case r.Mix == nil:
		text, with = "The curve departs from a level by %.2f dB", ", with the moves by %.2f dB"
	case len(r.References) > 1:
		text = "Distance from the references' mean, level aside: %.2f dB"
	}
	if len(r.Moves) == 0 {
		return fmt.Sprintf(text+".", r.DistanceBeforeDB)
	}
	return fmt.Sprintf(text+with+".", r.DistanceBeforeDB, r.DistanceAfterDB)
}

// confirmed is what was measured of the mix through the moves, "" if it was not read
// again.
func confirmed(r *match.Result) string {
	c := r.Confirmed
	if c == nil {
		return ""
	}
	return fmt.Sprintf("Measured again through the moves and the trim: %s LUFS (before %s), true peak %s dBTP.",
		Level(c.LoudnessAfterLUFS, 1), Level(c.LoudnessBeforeLUFS, 1), match.Gain(c.TruePeakDBTP))
}

// lead is what the moves do to a single track, "" if none was named.
func lead(r *match.Result) string {
	if r.Lead == nil {
		return ""
	}
	name := r.Lead.Name
	switch lu := r.Lead.ChangeLU; {
	case lu >= 0.05:
		return fmt.Sprintf("After these moves %s stands %.1f LU further out of the mix.", name, lu)
	case lu <= -0.05:
		return fmt.Sprintf("After these moves %s stands %.1f LU further in the mix.", name, -lu)
	}
	return fmt.Sprintf("After these moves %s stands where it did in the mix.", name)
}

// otherSongs is what a difference between songs is to be held against. Measured: see
// DEVELOPERS.md.
const otherSongs = "another finished song may differ by 4 to 6 dB"

// measurement is how sure the difference is.
func measurement(r *match.Result) string {
	half := fmt.Sprintf("±%.1f dB", r.ConfidenceDB)
	if r.ConfidenceDB < 0.05 {
		half = "within ±0.1 dB"
	}
	return half + ", 19 times in 20"
}

// oneSong tells whether mix and references are one song.
func oneSong(r *match.Result) bool {
	return len(r.SameSong) > 0 && !slices.Contains(r.SameSong, false)
}

// spreadDB is half the band of other references like these, the root of its mean
// square; NaN for one reference.
func spreadDB(r *match.Result) float64 {
	sum, n := 0.0, 0.0
	for _, half := range r.SpreadDB {
		if !math.IsNaN(half) {
			sum, n = sum+half*half, n+1
		}
	}
	return math.Sqrt(sum / n) // 0/0 is NaN
}

// sure says how far the difference can be trusted.
func sure(r *match.Result) string {
	if r.Mix == nil {
		return ""
	}
	text := "The difference is measured to " + measurement(r)
	if spread := spreadDB(r); !math.IsNaN(spread) {
		text += fmt.Sprintf("; the mean of other references like these would lie within ±%.1f dB", spread)
	}
	if oneSong(r) {
		return text + "."
	}
	return text + "; " + otherSongs + " for musical reasons."
}

// judged says what the comparison covers and how far it goes.
func judged(r *match.Result) string {
	low, high := r.JudgedHz()
	if r.Mix == nil {
		return fmt.Sprintf("Fitted from %s to %s for a rate of %g kHz.", match.Hertz(low), match.Hertz(high), r.RateHz/1000)
	}
	way := "the way"
	if !oneSong(r) {
		way = "what stands out from chance and arrangement"
	}
	return fmt.Sprintf("Judged from %s to %s in 1/%.0f octaves; target: %.0f %% of %s.",
		match.Hertz(low), match.Hertz(high), 1/r.Options.SmoothOct, r.SolveOptions.TowardPercent, way)
}

// leftOut lists what is not judged although it is in range, with the reasons.
func leftOut(r *match.Result) string {
	var parts []string
	if r.Mix == nil {
		return ""
	}
	for _, s := range r.LeftOutSpans() {
		if low, high := r.Options.RangeHz[0], r.Options.RangeHz[1]; s.HighHz > low && s.LowHz < high {
			s.LowHz, s.HighHz = max(s.LowHz, low), min(s.HighHz, high)
			if s.HighHz > s.LowHz*1.03 { // a band or more
				parts = append(parts, fmt.Sprintf("%s to %s (%s)", match.Hertz(s.LowHz), match.Hertz(s.HighHz), s.Why))
			}
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return "Not judged: " + strings.Join(parts, ", ") + "."
}

// mostNamed references or files are named in a sentence about several. Our choice: what one
// looks up one by one.
const mostNamed = 5

// copies says which references are the mix's own song.
func copies(r *match.Result) string {
	var which []string
	for i, same := range r.SameSong {
		if same {
			which = append(which, fmt.Sprint(i+1))
		}
	}
	switch n := len(which); {
	case n == 0:
		return ""
	case len(r.SameSong) == 1:
		return "Both are the same song: the difference is processing, not arrangement."
	case n == len(r.SameSong):
		return "All are the same song: the difference is processing, not arrangement."
	case n == 1:
		return "Reference " + which[0] + " is the mix's own song."
	case n > mostNamed:
		return fmt.Sprintf("%d of %d references are the mix's own song.", n, len(r.SameSong))
	default:
		return fmt.Sprintf("References %s and %s are the mix's own song.", strings.Join(which[:n-1], ", "), which[n-1])
	}
}
