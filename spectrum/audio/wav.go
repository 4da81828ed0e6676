package audio

import (
	"fmt"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/audio/pcm"
)

// Depth is the sample format of a WAV file to write.
type Depth = pcm.Depth

// The sample formats that can be written.
const (
	PCM16   = pcm.PCM16
	PCM24   = pcm.PCM24
	PCM32   = pcm.PCM32
	Float32 = pcm.Float32
)

// Writer writes a WAV file block by block, as an [AtomicFile].
type Writer = pcm.Writer

// CreateWAV starts a WAV file. It panics unless 1 ≤ rateHz ≤ 768000 and 1 ≤ channels ≤ 64. The errors of CreateWAV and
// of the [Writer] are of type [*Error].
func CreateWAV(path string, rateHz, channels int, depth Depth) (*Writer, error) {
	if codec.CheckFormat(int64(rateHz), channels) != nil || depth > Float32 {
		panic(fmt.Sprintf("audio: CreateWAV: %d Hz, %d channels, depth %d", rateHz, channels, depth))
	}
	f, err := CreateAtomic(path)
	if err != nil {
		return nil, err
	}
	return pcm.NewWriter(f, path, rateHz, channels, depth)
}
