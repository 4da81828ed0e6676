package codec

import "fmt"

// The warnings below are worded here once, since several decoders give them. Positions and lengths are in frames.

// StopsAt is the warning for a recording that ends before its announced end.
func StopsAt(got, announced int64, rateHz int) string {
	return fmt.Sprintf("the file stops at %s of %s: %s at the end is missing", ClockAt(got, rateHz), ClockAt(announced, rateHz), formatDuration(announced-got, rateHz))
}

// Silenced is the warning for damage, first at a position, that was replaced by so much silence.
func Silenced(at, lost int64, rateHz int) string {
	return fmt.Sprintf("the file is damaged, first at %s: %s of sound is replaced by silence", ClockAt(at, rateHz), formatDuration(lost, rateHz))
}

// Missing is the warning for sound that is missing somewhere and not replaced.
func Missing(lost int64, rateHz int) string {
	return fmt.Sprintf("the file is damaged: %s of sound is missing", formatDuration(lost, rateHz))
}

// MissingIn is the warning for sound missing at a number of places. Of announced frames so many were read; announced is -1
// if the file does not say.
func MissingIn(places int, read, announced int64, rateHz int) string {
	if announced < 0 {
		return fmt.Sprintf("the file is damaged in %s: some sound is missing there", countPlaces(places))
	}
	return fmt.Sprintf("the file is damaged in %s: %s of %s is missing", countPlaces(places), formatDuration(announced-read, rateHz), ClockAt(announced, rateHz))
}

// OnlyFirst is the warning for a file that holds more recordings than the one that was read.
func OnlyFirst(frames int64, rateHz int) string {
	return fmt.Sprintf("the file holds several recordings one after the other: only the first, %s long, is read", formatDuration(frames, rateHz))
}

// BadSamples is the warning for samples that are no numbers or beyond [MaxSample].
func BadSamples(n int64) string {
	return fmt.Sprintf("%d samples are not numbers or absurdly large: they are taken as silence", n)
}

func countPlaces(n int) string {
	if n == 1 {
		return "one place"
	}
	return fmt.Sprintf("%d places", n)
}
