package pcm

import (
	"encoding/binary"
	"testing"

	"toneplumb/spectrum/internal/audiotest"
)

// Sound that does not fit 32-bit sizes is refused, or written as RF64 with its sizes in ds64.
func TestBeyondFourGiB(t *testing.T) {
	w := &Writer{channels: 1, rateHz: 8000, depth: PCM16, dataLen: maxWAVLen - 100}
	audiotest.WantProblem(t, w.Write([][]float64{make([]float64, 100)}), "would be longer than a WAV file can be (4 GiB)")
	w = &Writer{channels: 1, rateHz: 8000, depth: PCM16, long: true, dataLen: 6 << 30}
	w.headLen = len(w.header())
	head := w.header()
	if string(head[:4]) != "RF64" || binary.LittleEndian.Uint64(head[20:]) != uint64(len(head)-8+6<<30) || binary.LittleEndian.Uint64(head[28:]) != 6<<30 || binary.LittleEndian.Uint64(head[36:]) != 3<<30 {
		t.Errorf("header %q", head)
	}
}
