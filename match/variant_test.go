package match

import (
	"errors"
	"testing"

	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// A variant whose filters do not fit below half the mix's rate is an error, not a panic.
func TestVariantFits(t *testing.T) {
	mix := invented(1, 20, flat)
	for v := range MostVariants + 1 {
		if _, err := v.Of(mix); err != nil {
			t.Errorf("variant %d at %d Hz: %v", v, mix.Format.RateHz, err)
		}
	}
	low := with(mix, func(r *measure.Recording) { r.Format.RateHz = 8000 })
	_, err := MostVariants.Of(low)
	var file *audio.Error
	if !errors.As(err, &file) || file.Kind != finding.DoesNotFit || file.Hint == "" {
		t.Errorf("at 8 kHz: %v", err)
	}
}
