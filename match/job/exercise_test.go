package job

import (
	"context"
	"testing"

	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/memory"
)

// The loudest part is sought and cut from what the reader opens.
func TestExcerptOpens(t *testing.T) {
	opened := 0
	reader := Reader{Open: func(context.Context, string) (audio.Source, error) {
		opened++
		return &memory.Sound{RateHz: rate, X: stereoNoise(1)}, nil
	}}
	e, err := reader.Excerpt(t.Context(), "not on the disk.wav", nil)
	if err != nil || opened != 2 || e.Sec() == 0 {
		t.Errorf("opened %d times, %v", opened, err)
	}
}
