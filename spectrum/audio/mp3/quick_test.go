package mp3

import (
	"encoding/binary"
	"math"
	"os"
	"os/exec"
	"testing"
)

func TestQuick(t *testing.T) {
	path := os.Getenv("QUICK")
	if path == "" {
		t.Skip()
	}
	data, _ := os.ReadFile(path)
	var d Decoder
	var out [2][1152]float32
	var got [2][]float32
	at := 0
	nerr := 0
	for at+4 <= len(data) {
		h, ok := ParseHeader(data[at:])
		if !ok || at+h.FrameLen() > len(data) {
			t.Log("stop at", at, len(data))
			break
		}
		_, err := d.Decode(data[at:at+h.FrameLen()], &out)
		if err != nil {
			nerr++
			if nerr < 5 {
				t.Log(len(got[0])/1152, err)
			}
		}
		for ch := range h.Channels() {
			got[ch] = append(got[ch], out[ch][:h.Samples()]...)
		}
		at += h.FrameLen()
	}
	cmd := exec.Command("ffmpeg", "-v", "error", "-flags2", "-skip_manual", "-i", path, "-f", "f32le", "-")
	raw, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	ch := 1
	if len(got[1]) > 0 {
		ch = 2
	}
	n := len(raw) / 4 / ch
	t.Log("frames", len(got[0]), n, "errors", nerr)
	off := 0
	best := math.Inf(1)
	f := func(i, c int) float64 {
		return float64(math.Float32frombits(binary.LittleEndian.Uint32(raw[4*(i*ch+c):])))
	}
	for o := -3000; o < 3000; o++ {
		s := 0.0
		for i := 20000; i < 21000; i++ {
			dd := float64(got[0][i+o]) - f(i, 0)
			s += dd * dd
		}
		if s < best {
			best, off = s, o
		}
	}
	worst, rms, k := 0.0, 0.0, 0
	wi := 0
	for i := range n {
		if i+off < 0 || i+off >= len(got[0]) {
			continue
		}
		for c := range ch {
			dd := math.Abs(float64(got[c][i+off]) - f(i, c))
			if dd > worst {
				worst, wi = dd, i
			}
			rms += dd * dd
			k++
		}
	}
	t.Logf("offset %d worst %.4f LSB16 at %d, rms %.5f", off, worst*32768, wi, math.Sqrt(rms/float64(k))*32768)
}

func BenchmarkFile(b *testing.B) {
	path := os.Getenv("QUICK")
	if path == "" {
		b.Skip()
	}
	data, _ := os.ReadFile(path)
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		var d Decoder
		var out [2][1152]float32
		for at := 0; at+4 <= len(data); {
			h, _ := ParseHeader(data[at:])
			d.Decode(data[at:min(len(data), at+h.FrameLen())], &out)
			at += h.FrameLen()
		}
	}
}
