package terminal

import (
	"bytes"
	"io"
	"testing"
	"time"

	"toneplumb/spectrum/audio"
)

// short is a recording that ends before the length it announces.
type short struct{ left int }

func (s *short) Format() audio.Format     { return audio.Format{RateHz: 44100, Channels: 1, Frames: 1000} }
func (s *short) Warnings() []audio.Remark { return nil }
func (s *short) Close() error             { return nil }
func (s *short) Read(dst [][]float64) (int, error) {
	n := min(s.left, len(dst[0]))
	if s.left -= n; n == 0 {
		return 0, io.EOF
	}
	return n, nil
}

// The end of progress waits for no recording that ended early, was never read or not closed.
func TestProgressEnds(t *testing.T) {
	for _, frames := range []int{0, 10, 1000, 1010} {
		shown := NewProgress(&bytes.Buffer{})
		src := shown.Watch(&short{left: frames}, "early.mp3")
		for {
			if _, err := src.Read(audio.NewBlock(1, 16)); err != nil {
				break
			}
		}
		ended := make(chan bool)
		go func() { shown.End(); close(ended) }()
		select {
		case <-ended:
		case <-time.After(10 * time.Second): // usually at once
			t.Fatalf("%d of 1000 frames: progress never ends", frames)
		}
	}
}
