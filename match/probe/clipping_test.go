package probe

import (
	"slices"
	"testing"
)

// A run of samples at full scale is one clipped place, however long it is, and two are none.
func TestClipping(t *testing.T) {
	var run clipping
	var places []int
	for i, v := range []float64{0, 1, 1, 0.5, 1, -1, 1.2, 1, 1, 0, 0.9999, 1, 1} {
		if run.add(v) {
			places = append(places, i)
		}
	}
	if want := []int{6, 12}; !slices.Equal(places, want) {
		t.Errorf("clipped at samples %v, want %v", places, want)
	}
}
