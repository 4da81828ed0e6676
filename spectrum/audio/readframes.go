package audio

import (
	"context"
	"io"
)

// ReadFrames returns frames from … to−1 of the first channels of src, as [channel][frame], full scale ±1. It returns
// fewer frames if src ends sooner. src must not have been read before. The error is that of [Source.Read] or ctx's.
func ReadFrames(ctx context.Context, src Source, from, to int64, channels int) ([][]float64, error) {
	const frames = 1 << 14 // read at a time; our choice
	block, part := NewBlock(src.Format().Channels, frames), make([][]float64, channels)
	const expected = 1 << 21 // frames to allocate at once: half a minute at 48 kHz has 1.4 million; our choice
	for c := range part {
		part[c] = make([]float64, 0, min(max(to-from, 0), expected))
	}
	for at := int64(0); at < to; {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		n, err := src.Read(block)
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, err
		}
		if low, high := max(0, from-at), min(int64(n), to-at); low < high {
			for c := range part {
				part[c] = append(part[c], block[c][low:high]...)
			}
		}
		at += int64(n)
	}
	return part, nil
}
