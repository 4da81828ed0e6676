package codec

import (
	"fmt"
	"math"
)

// The texts of warnings that several decoders give. Positions and lengths are in frames.

// StopsAt returns the warning for a recording that ends after got of its announced frames.
func StopsAt(got, announced int64, rateHz int) string {
	return fmt.Sprintf("the file stops at %s of %s: %s at the end is missing", ClockAt(got, rateHz), ClockAt(announced, rateHz), formatDuration(announced-got, rateHz))
}

// Silenced returns the warning for damage that was replaced by lost frames of silence, the first of them at a position.
func Silenced(at, lost int64, rateHz int) string {
	return fmt.Sprintf("the file is damaged, first at %s: %s of sound is replaced by silence", ClockAt(at, rateHz), formatDuration(lost, rateHz))
}

// Missing returns the warning for lost frames of sound that are missing at unknown places and not replaced.
func Missing(lost int64, rateHz int) string {
	return fmt.Sprintf("the file is damaged: %s of sound is missing", formatDuration(lost, rateHz))
}

// MissingIn returns the warning for sound that is missing at a number of places. announced is the number of frames that
// the file announces, -1 if it does not say, and read how many of them were read.
func MissingIn(places int, read, announced int64, rateHz int) string {
	if announced < 0 {
		return fmt.Sprintf("the file is damaged in %s: some sound is missing there", countPlaces(places))
	}
	return fmt.Sprintf("the file is damaged in %s: %s of %s is missing", countPlaces(places), formatDuration(announced-read, rateHz), ClockAt(announced, rateHz))
}

// OnlyFirst returns the warning for a file that holds more recordings than the first, which was read and has that many
// frames.
func OnlyFirst(frames int64, rateHz int) string {
	return fmt.Sprintf("the file holds several recordings one after the other: only the first, %s long, is read", formatDuration(frames, rateHz))
}

// BadSamples returns the warning for n samples that are not numbers or beyond [MaxSample].
func BadSamples(n int64) string {
	return fmt.Sprintf("%d samples are not numbers or absurdly large: they are taken as silence", n)
}

func countPlaces(n int) string {
	if n == 1 {
		return "one place"
	}
	return fmt.Sprintf("%d places", n)
}

// Clock formats a time in seconds as m:ss or h:mm:ss, rounded down.
func Clock(sec float64) string {
	s := int64(math.Max(0, sec))
	if s >= 3600 {
		return fmt.Sprintf("%d:%02d:%02d", s/3600, s/60%60, s%60)
	}
	return fmt.Sprintf("%d:%02d", s/60, s%60)
}

// ClockAt is [Clock] for a number of frames.
func ClockAt(frames int64, rateHz int) string { return Clock(float64(frames) / float64(rateHz)) }

// formatDuration formats a length in frames: in seconds with one decimal below ten seconds, else as m:ss.
func formatDuration(frames int64, rateHz int) string {
	sec := float64(frames) / float64(rateHz)
	switch {
	case sec < 0.1:
		return "less than 0.1 s"
	case sec < 9.95:
		return fmt.Sprintf("%.1f s", sec)
	}
	return Clock(sec + 0.5)
}
