package mp3

import (
	"bytes"
	"io"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync/atomic"
	"testing"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/parallel"
)

// openData opens an MP3 stream in memory.
func openData(t testing.TB, data []byte) *source {
	t.Helper()
	start, tagged, err := codec.SkipID3v2(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	d, err := Open(bytes.NewReader(data), start, int64(len(data)), tagged)
	if err != nil || d == nil {
		t.Fatalf("Open: %v, %v", d, err)
	}
	return d.(*source)
}

// allMP3 returns every decoded frame, and for each whether it is silence because of damage.
func allMP3(t testing.TB, data []byte) (sound []Block, broken []bool) {
	s := openData(t, data)
	for {
		b, lost, err := s.segments.next()
		if err == io.EOF {
			return sound, broken
		}
		if err != nil {
			t.Fatal(err)
		}
		sound, broken = append(sound, *b), append(broken, lost)
	}
}

// serialMP3 decodes in the simplest way, with one decoder from the first frame to the last.
func serialMP3(t testing.TB, data []byte, d frameDecoder) (sound []Block, broken []bool) {
	s := openData(t, data)
	frames := newFrames(bytes.NewReader(data), startOfMP3(t, data), endOfMP3(t, data), s.first)
	if s.gapless.infoFrame {
		frames.next()
	}
	for {
		f, err := frames.next()
		if err != nil {
			return sound, broken
		}
		if f.gap {
			d.Forget()
		}
		var one Block
		_, err = d.Decode(f.b, &one)
		if err != nil && f.cutOff {
			return sound, broken
		}
		sound, broken = append(sound, one), append(broken, err != nil)
	}
}

func startOfMP3(t testing.TB, data []byte) int64 {
	start, _, err := codec.SkipID3v2(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	at, _, err := find(bytes.NewReader(data), start, int64(len(data)), lookTagged)
	if at < 0 || err != nil {
		t.Fatalf("no stream: %d, %v", at, err)
	}
	return at
}

func endOfMP3(t testing.TB, data []byte) int64 {
	end, err := tailTagsAt(bytes.NewReader(data), startOfMP3(t, data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	return end
}

func TestMP3SegmentsEqualSerial(t *testing.T) {
	const sec = 12 // 460 frames: the first segment, a whole one, and a part
	rng := rand.New(rand.NewPCG(3, 4))
	damaged := func(data []byte, bytes int) []byte {
		bad := append([]byte(nil), data...)
		for range bytes {
			bad[1000+rng.IntN(len(bad)-1000)] = byte(rng.Uint32())
		}
		return bad
	}
	holes := func(data []byte) []byte {
		n := len(data)
		return slices.Concat(data[:n/3], data[n/2:n*3/4], data[n*4/5:])
	}
	joint := mp3Of(t, 44100, 2, sec, "-b", "128")
	vbr := mp3Of(t, 44100, 2, sec, "-V", "4")
	low := mp3Of(t, 22050, 2, sec, "-b", "48")
	mono := mp3Of(t, 44100, 1, sec, "-b", "64")
	for _, row := range []struct {
		name string
		data []byte
	}{
		{"CBR 128 joint stereo", joint},
		{"CBR 128 with few damaged bytes", damaged(joint, 20)},
		{"CBR 128 with many damaged bytes", damaged(joint, 2000)},
		{"CBR 128 with holes", holes(joint)},
		{"CBR 128 from the middle", joint[50000:]},
		{"CBR 320", mp3Of(t, 44100, 2, sec, "-b", "320")},
		{"VBR", vbr},
		{"VBR with few damaged bytes", damaged(vbr, 20)},
		{"VBR with many damaged bytes", damaged(vbr, 2000)},
		{"plain stereo at 48 kHz", mp3Of(t, 48000, 2, sec, "-b", "160", "-m", "s")},
		{"mono", mono},
		{"mono with many damaged bytes", damaged(mono, 2000)},
		{"22.05 kHz joint stereo", low},
		{"22.05 kHz with many damaged bytes", damaged(low, 2000)},
		{"8 kHz at 8 kbit/s, its reservoir in many frames", mp3Of(t, 8000, 1, 3*sec, "-b", "8")},
		{"16 kHz mono VBR", mp3Of(t, 16000, 1, 2*sec, "-V", "5")},
		{"no information frame", mp3Of(t, 44100, 2, sec, "-b", "96", "-t")},
	} {
		t.Run(row.name, func(t *testing.T) {
			want, wantLost := serialMP3(t, row.data, new(Decoder))
			for _, cores := range []int{1, 3} {
				if cores == 1 && row.name != "VBR with many damaged bytes" {
					continue // one row shows that the number of cores does not matter
				}
				before := runtime.GOMAXPROCS(cores)
				got, lost := allMP3(t, row.data)
				runtime.GOMAXPROCS(before)
				if len(got) != len(want) || len(lost) != len(wantLost) {
					t.Fatalf("%d cores: %d frames, serial %d", cores, len(lost), len(wantLost))
				}
				for i := range lost {
					if lost[i] != wantLost[i] || got[i] != want[i] {
						t.Fatalf("%d cores: frame %d of %d differs", cores, i, len(lost))
					}
				}
			}
		})
	}
}

// broken is a decoder with a mistake that stops it.
type broken struct{ Decoder }

func (*broken) Decode([]byte, *Block) (Header, error) { panic("no such table") }

// A panic of a segment's decoder, the first's or a later one's, reaches whoever reads the sound.
func TestMP3PanicReachesReader(t *testing.T) {
	data := mp3Of(t, 44100, 2, 2, "-b", "128")
	for _, flawless := range []int32{0, 1} {
		s := openData(t, data)
		var made atomic.Int32
		s.segments = &segments{frames: newFrames(bytes.NewReader(data), 0, int64(len(data)), s.first), decoder: func() frameDecoder {
			if made.Add(1) > flawless {
				return new(broken)
			}
			return new(Decoder)
		}}
		p := parallel.Caught(func() {
			s.segments.open()
			for _, _, err := s.segments.next(); err == nil; _, _, err = s.segments.next() {
			}
		})
		if p == nil || p.Value != "no such table" {
			t.Errorf("after %d segments: caught is %v", flawless, p)
		}
	}
}

// BenchmarkMP3Cores decodes a file of two minutes with one decoder and in segments on all cores.
func BenchmarkMP3Cores(b *testing.B) {
	data := mp3Of(b, 44100, 2, 120, "-b", "192")
	b.Run("serial", func(b *testing.B) {
		b.SetBytes(int64(len(data)))
		for b.Loop() {
			serialMP3(b, data, new(Decoder))
		}
	})
	b.Run("frames alone", func(b *testing.B) { // what is not done in parallel
		b.SetBytes(int64(len(data)))
		for b.Loop() {
			s := openData(b, data)
			for _, err := s.segments.frames.next(); err == nil; _, err = s.segments.frames.next() {
			}
		}
	})
	b.Run("segments", func(b *testing.B) {
		b.SetBytes(int64(len(data)))
		for b.Loop() {
			allMP3(b, data)
		}
	})
}
