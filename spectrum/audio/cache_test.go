package audio

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"

	"toneplumb/spectrum/internal/audiotest"
)

func openKept(t *testing.T, k *Cache, path string) Source {
	t.Helper()
	src, err := k.Open(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { src.Close() })
	return src
}

// The second reading gives the same sound as the first, bit for bit, without decoding again.
func TestKept(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	for _, name := range []string{"stereo.mp3", "mono.mp3", "stereo.flac", "mono.flac", "stereo.ogg", "mono.ogg", "stereo.opus", "mono.opus"} {
		path := audiotest.WriteFile(t, name, audiotest.Seed(t, name))
		k := NewCache(path)
		first := openKept(t, k, path)
		want := audiotest.DecodeAll(t, first, 1000)
		second := openKept(t, k, path)
		if _, kept := second.(*recording).Decoder.(*entryReader); !kept {
			t.Errorf("%s: decoded again", name)
		}
		if got := audiotest.DecodeAll(t, second, 777); !slices.EqualFunc(got, want, slices.Equal[[]float64]) {
			t.Errorf("%s: the second reading differs", name)
		}
		if second.Format() != first.Format() || !slices.Equal(second.Warnings(), first.Warnings()) {
			t.Errorf("%s: %+v %v, at first %+v %v", name, second.Format(), second.Warnings(), first.Format(), first.Warnings())
		}
		k.Close()
	}
	if left, _ := os.ReadDir(os.TempDir()); len(left) > 0 {
		t.Errorf("left: %v", left)
	}
}

// Several goroutines can read a cached recording at the same time, each from its start and
// in blocks of its own length.
func TestKeptSideBySide(t *testing.T) {
	path := audiotest.WriteFile(t, "stereo.mp3", audiotest.Seed(t, "stereo.mp3"))
	k := NewCache(path)
	defer k.Close()
	want := audiotest.DecodeAll(t, openKept(t, k, path), 1000)
	var wait sync.WaitGroup
	for _, blockLen := range []int{100, 333, 777, 4096} {
		src := openKept(t, k, path)
		wait.Go(func() {
			if got := audiotest.DecodeAll(t, src, blockLen); !slices.EqualFunc(got, want, slices.Equal[[]float64]) {
				t.Errorf("blocks of %d: not what was read first", blockLen)
			}
		})
	}
	wait.Wait()
}

func TestKeptSamples(t *testing.T) {
	if packFloat32s(make([]byte, sampleLen), sampleLen, []float64{0.1}) {
		t.Error("a sample between floats of 32 bits is said to be kept")
	}
}

// If nothing can be kept, the recording is decoded again.
func TestNotKept(t *testing.T) {
	path := audiotest.WriteFile(t, "stereo.mp3", audiotest.Seed(t, "stereo.mp3"))
	again := func(what string, k *Cache, first func(Source)) {
		first(openKept(t, k, path))
		if _, kept := openKept(t, k, path).(*recording).Decoder.(*entryReader); kept {
			t.Errorf("%s: kept", what)
		}
		if err := k.Close(); err != nil {
			t.Error(err)
		}
	}
	whole := func(src Source) { audiotest.DecodeAll(t, src, 1000) }
	again("no keeper", nil, whole)
	again("another recording", NewCache("other.mp3"), whole)
	closed := NewCache(path)
	again("closed meanwhile", closed, func(src Source) {
		closed.Close()
		whole(src)
		if n := len(closed.entries); n > 0 {
			t.Errorf("closed meanwhile: %d entries", n)
		}
	})
	t.Run("no folder", func(t *testing.T) {
		t.Setenv("TMPDIR", filepath.Join(t.TempDir(), "none"))
		again("no folder for it", NewCache(path), whole)
	})
	again("does not fit", NewCache(path), func(src Source) {
		src.(*entryWriter).entry.bytes = entryMax
		whole(src)
	})
	again("samples that do not fit", NewCache(path), func(src Source) {
		s := src.(*entryWriter)
		s.Source = &scaled{s.Source}
		whole(src)
	})
	again("disk full", NewCache(path), func(src Source) {
		src.(*entryWriter).entry.file.Close()
		whole(src)
	})
}

// A first reading that was given up does not keep the next one out of the cache.
func TestKeptAfterGivingUp(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	path := audiotest.WriteFile(t, "stereo.mp3", audiotest.Seed(t, "stereo.mp3"))
	for what, giveUp := range map[string]func(Source, context.CancelFunc){
		"closed early": func(src Source, _ context.CancelFunc) { src.Read(NewBlock(src.Format().Channels, 100)) },
		"cancelled": func(src Source, cancel context.CancelFunc) {
			cancel()
			if _, err := src.Read(NewBlock(src.Format().Channels, 100)); err == nil {
				t.Error("read in spite of the end of its context")
			}
		},
	} {
		k := NewCache(path)
		ctx, cancel := context.WithCancel(t.Context())
		defer cancel()
		src, err := k.Open(ctx, path)
		if err != nil {
			t.Fatal(err)
		}
		giveUp(src, cancel)
		src.Close()
		audiotest.DecodeAll(t, openKept(t, k, path), 1000)
		if _, kept := openKept(t, k, path).(*recording).Decoder.(*entryReader); !kept {
			t.Errorf("%s: not kept by the next reading", what)
		}
		k.Close()
	}
	if left, _ := os.ReadDir(os.TempDir()); len(left) > 0 {
		t.Errorf("left: %v", left)
	}
}

// scaled is a source with its samples multiplied, so that they no longer fit 32-bit floats.
type scaled struct{ Source }

func (s *scaled) Read(dst [][]float64) (int, error) {
	n, err := s.Source.Read(dst)
	for _, x := range dst {
		for i := range x {
			x[i] *= math.Sqrt2
		}
	}
	return n, err
}
