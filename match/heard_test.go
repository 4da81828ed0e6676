package match

import (
	"math"
	"testing"

	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// A mix in two channels is no louder than a reference whose one channel is played by both loudspeakers.
func TestLevelDifferenceAsHeard(t *testing.T) {
	recording := func(channels int, lufs float64) *measure.Recording {
		return &measure.Recording{LoudnessLUFS: lufs, Format: audio.Format{Channels: channels}}
	}
	c := &Comparison{Mix: recording(2, -14), References: []*measure.Recording{recording(1, -17), recording(2, -14)}}
	const roundedLU = 0.01 // 10·log10(2) is 3.0103
	if lu := c.levelDifferenceDB(); math.Abs(lu) > roundedLU {
		t.Errorf("they are %.2f LU apart", lu)
	}
}
