package cli

import (
	"testing"

	"toneplumb/match/probe"
)

// A level that rounds to nothing has no sign.
func TestTrimWords(t *testing.T) {
	for level, want := range map[float64]string{-0.004: "0.00 dB", 0.004: "0.00 dB", 0: "0.00 dB", -0.006: "−0.01 dB", 0.006: "+0.01 dB", -1.5: "−1.50 dB"} {
		if _, got := trimWords(&probe.TransferFunction{LevelDB: level}); got != want {
			t.Errorf("%g: %s, want %s", level, got, want)
		}
	}
}
