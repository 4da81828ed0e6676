package mp3

import (
	"io"
	"testing"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/internal/audiotest"
)

var opener audiotest.Opener = func(r io.ReaderAt, size int64) (codec.Decoder, error) {
	start, tagged, err := codec.SkipID3v2(r, size)
	if err != nil {
		return nil, err
	}
	return Open(r, start, size, tagged)
}

func TestDamagedFilesNeverPanic(t *testing.T) {
	opener.Damage(t, map[string][]byte{"stereo": audiotest.Seed(t, "stereo.mp3"), "mono": audiotest.Seed(t, "mono.mp3")})
}

// FuzzMP3 begins with a few frames, so that each input is short.
func FuzzMP3(f *testing.F) {
	opener.Fuzz(f, nil, audiotest.Seed(f, "stereo.mp3")[:78+6*288], audiotest.Seed(f, "mono.mp3")[:600])
}

func BenchmarkFile(b *testing.B) { opener.Benchmark(b, audiotest.Seed(b, "stereo.mp3")) }
