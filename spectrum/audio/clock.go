package audio

import (
	"fmt"
	"math"
)

// Clock writes a time in seconds as m:ss or h:mm:ss, rounded down.
func Clock(sec float64) string {
	s := int64(math.Max(0, sec))
	if s >= 3600 {
		return fmt.Sprintf("%d:%02d:%02d", s/3600, s/60%60, s%60)
	}
	return fmt.Sprintf("%d:%02d", s/60, s%60)
}

// stretch writes a duration: in seconds with one decimal below ten seconds, as m:ss above.
func stretch(sec float64) string {
	switch {
	case sec < 0.1:
		return "less than 0.1 s"
	case sec < 9.95:
		return fmt.Sprintf("%.1f s", sec)
	}
	return Clock(sec + 0.5)
}

// stopsAt is the warning for a recording that ends before its announced end.
func stopsAt(gotFrames, announcedFrames int64, rateHz int) string {
	got, all := float64(gotFrames)/float64(rateHz), float64(announcedFrames)/float64(rateHz)
	return fmt.Sprintf("the file stops at %s of %s: %s at the end is missing", Clock(got), Clock(all), stretch(all-got))
}

func places(n int) string {
	if n == 1 {
		return "one place"
	}
	return fmt.Sprintf("%d places", n)
}
