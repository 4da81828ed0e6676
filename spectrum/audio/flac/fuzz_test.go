package flac

import (
	"io"
	"testing"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/internal/audiotest"
)

var opener audiotest.Opener = func(r io.ReaderAt, size int64) (codec.Decoder, error) {
	start, _, err := codec.SkipID3v2(r, size)
	if err != nil {
		return nil, err
	}
	return Open(r, start, size)
}

func TestDamagedFilesNeverPanic(t *testing.T) {
	opener.Damage(t, map[string][]byte{"stereo": audiotest.Seed(t, "stereo.flac"), "mono": audiotest.Seed(t, "mono.flac")})
}

func FuzzFLAC(f *testing.F) {
	opener.Fuzz(f, nil, audiotest.Seed(f, "stereo.flac"), audiotest.Seed(f, "mono.flac"))
}

func BenchmarkFLAC(b *testing.B) { opener.Benchmark(b, audiotest.Seed(b, "stereo.flac")) }
