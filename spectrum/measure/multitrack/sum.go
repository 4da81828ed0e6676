package multitrack

import (
	"context"
	"io"

	"toneplumb/spectrum/audio"
)

// Sum opens the sum of single tracks that start together; its length is that of the longest.
// It replaces a mix that has not been bounced yet. It is stereo if any track is. The error
// is that of open, or an [*audio.Error] if the sample rates differ. It panics without tracks.
func Sum(ctx context.Context, open Opener, tracks []string) (audio.Source, error) {
	channels, frames := 1, int64(0)
	readers, err := openTogether(ctx, open, tracks)
	if err != nil {
		return nil, err
	}
	for _, r := range readers {
		f := r.src.Format()
		channels = max(channels, min(2, f.Channels))
		if f.Frames < 0 || frames < 0 {
			frames = -1 // unknown if that of any track is
		} else {
			frames = max(frames, f.Frames)
		}
	}
	for i, r := range readers {
		readers[i] = newReader(r.src, channels)
	}
	f := readers[0].src.Format()
	sum := audio.Format{Container: "WAV", Encoding: "float", RateHz: f.RateHz, Channels: channels, Frames: frames}
	return &summed{readers, sum}, nil
}

// summed is the [audio.Source] of [Sum].
type summed struct {
	readers []*reader
	format  audio.Format
}

func (s *summed) Format() audio.Format     { return s.format }
func (s *summed) Warnings() []audio.Remark { return nil } // the tracks have their own
func (s *summed) Close() error             { return closeAll(s.readers) }

func (s *summed) Read(dst [][]float64) (int, error) {
	n := min(len(dst[0]), blockFrames)
	most := 0
	for ch := range dst {
		clear(dst[ch][:n])
	}
	for _, r := range s.readers {
		got, err := r.read(n)
		if err != nil {
			return 0, err
		}
		most = max(most, got)
		for ch, x := range r.block(got) {
			for k, v := range x {
				dst[ch][k] += v
			}
		}
	}
	if most == 0 {
		return 0, io.EOF
	}
	return most, nil
}
