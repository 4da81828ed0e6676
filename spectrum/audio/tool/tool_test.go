package tool

import (
	"context"
	"errors"
	"testing"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/internal/audiotest"
	"toneplumb/spectrum/testkit"
)

// ffmpeg is stopped when the context ends or the source is closed, and Read returns the reason.
func TestToolStops(t *testing.T) {
	testkit.Tool(t, "ffprobe")
	path, _ := audiotest.FFmpegEncode(t, 44100, 2, 120, 0.4, "a.m4a", "-c:a", "alac")
	for _, byCancel := range []bool{true, false} {
		ctx, cancel := context.WithCancel(context.Background())
		defer cancel()
		d, err := Open(ctx, path, codec.NeedsTool("an MP4 or M4A file"))
		if err != nil {
			t.Fatal(err)
		}
		src := d.(*source)
		block := codec.NewBlock(2, 100)
		if _, err := src.Read(block); err != nil {
			t.Fatal(err)
		}
		if byCancel {
			cancel()
			for err == nil { // what was read ahead
				_, err = src.Read(block)
			}
			if !errors.Is(err, context.Canceled) {
				t.Errorf("after cancel Read returned %v", err)
			}
		}
		if err := src.Close(); err != nil {
			t.Error(err)
		}
		if src.cmd.ProcessState == nil { // one that still ran would wait for ever to be read
			t.Errorf("by cancel %v: ffmpeg is still there", byCancel)
		}
		if err := src.Close(); err != nil {
			t.Error("closed twice:", err)
		}
	}
}
