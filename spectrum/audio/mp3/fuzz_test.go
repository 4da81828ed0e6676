package mp3

import (
	"math"
	"testing"

	"toneplumb/spectrum/testkit"
)

// feed decodes everything in data that looks like a frame, cut off at the end of data, and fails on samples that are not
// finite or far too large.
func feed(t *testing.T, data []byte) {
	var d Decoder
	var out Block
	for len(data) >= HeaderLen {
		h, ok := ParseHeader(data)
		if !ok {
			d.Forget()
			data = data[1:]
			continue
		}
		n := h.FrameLen()
		if n < HeaderLen || n > len(data) {
			n = len(data)
		}
		_, err := d.Decode(data[:n], &out)
		// Damage fades out of the frame before. The loudest is a few times the root of what lines may have.
		const most = 1000
		for ch := range out {
			for _, x := range out[ch] {
				if !(math.Abs(float64(x)) < most) {
					t.Fatalf("a sample is %v, error %v", x, err)
				}
			}
		}
		data = data[n:]
	}
	if len(d.data) > reservoirLen+len(data)+1<<16 {
		t.Fatalf("%d bytes kept", len(d.data))
	}
}

func FuzzDecoder(f *testing.F) {
	for _, version := range []Version{MPEG1, MPEG2, MPEG25} {
		for i, mode := range []int{3, 0, 1, 1, 1} {
			k := kind{version: version, rate: i % 3, bitIndex: 9, mode: mode, ext: i % 4, blocks: all, crc: i == 3, seed: uint64(i)}
			f.Add(k.stream(3))
		}
	}
	f.Fuzz(feed)
}

// Damage to single bits gives errors or different sound, and nothing else.
func TestDamagedStreams(t *testing.T) {
	testkit.Skip(t, "flips every bit")
	k := kind{version: MPEG1, bitIndex: 9, mode: 1, ext: 3, blocks: all, seed: 4}
	stream := k.stream(3)
	for bit := range 8 * len(stream) {
		stream[bit/8] ^= 0x80 >> (bit % 8)
		feed(t, stream)
		stream[bit/8] ^= 0x80 >> (bit % 8)
	}
}

// A frame that cannot be decoded is silence, and later frames decode as if its lines had been zeros.
func TestDamagedFrame(t *testing.T) {
	k := kind{version: MPEG1, bitIndex: 9, mode: 0, blocks: long, seed: 5}
	stream := k.stream(12)
	var d, whole Decoder
	var out, want Block
	at := 0
	for i := range 12 {
		h, _ := ParseHeader(stream[at:])
		frame := stream[at : at+h.FrameLen()]
		at += h.FrameLen()
		whole.Decode(frame, &want)
		bad := append([]byte(nil), frame...)
		if i == 4 {
			bad[HeaderLen+3] |= 0x0F // as many bits of main data as can be said, more than there are
			bad[HeaderLen+4] = 0xFF
		}
		_, err := d.Decode(bad, &out)
		switch {
		case (i == 4) != (err == ErrDamaged):
			t.Errorf("frame %d: error %v", i, err)
		case i < 4 && out != want, i > 6 && out != want:
			t.Errorf("frame %d differs", i)
		case i == 4: // what is left of the frame before has faded by the second granule
			for ch := range out {
				for k, x := range out[ch][2*lines-32:] {
					if x != 0 {
						t.Fatalf("channel %d, sample %d before the end is %v", ch, 32-k, x)
					}
				}
			}
		}
	}
	d.Forget()
	at = 0
	for begin := 0; begin == 0; {
		h, _ := ParseHeader(stream[at:])
		begin = int(stream[at+HeaderLen])<<1 | int(stream[at+HeaderLen+1]>>7)
		if begin > 0 {
			if _, err := d.Decode(stream[at:at+h.FrameLen()], &out); err != ErrReservoir {
				t.Errorf("without earlier frames: error %v", err)
			}
		}
		at += h.FrameLen()
	}
}

// Decoding allocates no memory after the first frames.
func TestAllocations(t *testing.T) {
	k := kind{version: MPEG1, bitIndex: 12, mode: 1, ext: 3, blocks: all, seed: 6}
	stream := k.stream(20)
	var d Decoder
	var out Block
	all := func() {
		for at := 0; at < len(stream); {
			h, _ := ParseHeader(stream[at:])
			d.Decode(stream[at:at+h.FrameLen()], &out)
			at += h.FrameLen()
		}
	}
	if n := testing.AllocsPerRun(10, all); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

func BenchmarkDecoder(b *testing.B) {
	for _, row := range []struct {
		name string
		args []string
	}{{"128", []string{"-b", "128"}}, {"V2", []string{"-V", "2"}}, {"320", []string{"-b", "320"}}} {
		stream := encoded(b, 44100, 2, row.args...)
		b.Run(row.name, func(b *testing.B) {
			b.SetBytes(int64(len(stream)))
			b.ReportAllocs()
			var d Decoder
			var out Block
			for b.Loop() {
				for at := 0; at < len(stream); {
					h, _ := ParseHeader(stream[at:])
					d.Decode(stream[at:at+h.FrameLen()], &out)
					at += h.FrameLen()
				}
			}
		})
	}
}
