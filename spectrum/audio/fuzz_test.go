package audio

import (
	"testing"

	"toneplumb/spectrum/internal/audiotest"
)

// The codecs are fuzzed in their own packages; this fuzzes the recognition of the kind of file.
func FuzzOpen(f *testing.F) {
	var seeds [][]byte
	for _, name := range []string{"stereo.mp3", "stereo.flac", "stereo.ogg", "mono.opus"} {
		seeds = append(seeds, audiotest.Seed(f, name)[:600])
	}
	seeds = append(seeds, []byte("FORM\x00\x00\x01\x00AIFFCOMM\x00\x00\x00\x12"), []byte("RIFF\x00\x00\x00\x00WAVEfmt "), []byte("\x00\x00\x00\x20ftypM4A "))
	audiotest.Opener(openDecoder).Fuzz(f, nil, seeds...)
}
