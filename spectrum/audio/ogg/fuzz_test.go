package ogg

import (
	"io"
	"testing"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/internal/audiotest"
)

var opener audiotest.Opener = func(r io.ReaderAt, size int64) (codec.Decoder, error) { return Open(r, 0, size) }

func TestDamagedFilesNeverPanic(t *testing.T) {
	seeds := map[string][]byte{}
	for _, name := range []string{"stereo.ogg", "mono.ogg", "stereo.opus", "mono.opus"} {
		seeds[name] = audiotest.Seed(t, name)
	}
	opener.Damage(t, seeds)
}

func FuzzVorbis(f *testing.F) {
	opener.Fuzz(f, audiotest.SealOgg, audiotest.Seed(f, "stereo.ogg"), audiotest.Seed(f, "mono.ogg"))
}

func FuzzOpus(f *testing.F) {
	opener.Fuzz(f, audiotest.SealOgg, audiotest.Seed(f, "stereo.opus"), audiotest.Seed(f, "mono.opus"))
}

func BenchmarkOgg(b *testing.B) {
	for _, name := range []string{"stereo.ogg", "stereo.opus"} {
		b.Run(name, func(b *testing.B) { opener.Benchmark(b, audiotest.Seed(b, name)) })
	}
}
