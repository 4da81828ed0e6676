package codec

import (
	"fmt"
	"math"
)

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
