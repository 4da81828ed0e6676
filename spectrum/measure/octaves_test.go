package measure

import (
	"testing"

	"toneplumb/spectrum"
)

// A profile stores the power of octaves, so its bands are added one after another wherever they lie in memory: after
// what is halfway between two numbers of 24 bits, less than half of the last of 53 bits counts for nothing each time.
func TestOctavesAreAddedInOrder(t *testing.T) {
	var at struct {
		b     spectrum.Bands
		_     float64 // the next is 8 bytes off a multiple of 16, if this is on one, and the other way round
		again spectrum.Bands
	}
	for _, b := range []*spectrum.Bands{&at.b, &at.again} {
		for i := range b.Power {
			b.Power[i] = 0x1p-54
		}
		b.Power[0] = 1 + 0x1p-24
		s := rows{to: &Recording{}}
		s.add(0, b)
		if got := s.to.OctavePower[0]; got != 1 {
			t.Errorf("1 + %g, not 1", got-1)
		}
	}
}
