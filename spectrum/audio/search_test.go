package audio

import (
	"context"
	"errors"
	"os"
	"testing"
	"time"

	"toneplumb/spectrum/internal/audiotest"
)

// soon is the processor time after which the search is considered hanging. Our choice: ten times what it takes here.
const soon = 20 * time.Second

// A decoder that searches gigabytes of zeros for its next frame stops with its context.
func TestSearchStops(t *testing.T) {
	for _, name := range []string{"stereo.flac", "stereo.mp3", "stereo.ogg"} {
		path := audiotest.WriteFile(t, name, audiotest.Seed(t, name))
		const size = 16 << 30 // zeros that take no room
		if err := os.Truncate(path, size); err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithCancel(context.Background())
		src, err := Open(ctx, path)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		time.AfterFunc(time.Second/10, cancel)
		block := NewBlock(src.Format().Channels, 1<<12)
		audiotest.Soon(t, soon, func() {
			for err == nil {
				_, err = src.Read(block)
			}
		})
		if !errors.Is(err, context.Canceled) {
			t.Errorf("%s: ended with %v", name, err)
		}
		src.Close()
	}
}
