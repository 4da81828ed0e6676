package ogg

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"toneplumb/spectrum/internal/audiotest"
)

// A single packet of speech is found anywhere in a stream.
func TestWalkOpus(t *testing.T) {
	data := audiotest.Seed(t, "stereo.opus")
	pages := audiotest.SplitOgg(t, data)
	last, _, _ := parsePage(pages[len(pages)-1])
	lastPacket := len(data) // where it begins
	for i := len(last.lacing) - 1; i >= 0 && (i == len(last.lacing)-1 || last.lacing[i] == 255); i-- {
		lastPacket -= int(last.lacing[i])
	}
	with := func(at int, toc byte) []byte {
		changed := append([]byte(nil), data...)
		changed[at] = toc
		return audiotest.SealOgg(changed)
	}
	const silk, hybrid, celt = 0 << 3, 15 << 3, 16 << 3
	for _, row := range []struct {
		name          string
		data          []byte
		speech, whole bool
	}{
		{"music", data, false, true},
		{"SILK in the last packet", with(lastPacket, silk), true, true},
		{"hybrid in the last packet", with(lastPacket, hybrid), true, true},
		{"CELT in the last packet", with(lastPacket, celt), false, true},
		{"no first byte of a packet", with(lastPacket+1, silk), false, true},
		{"no packet of sound", with(strings.Index(string(data), "OpusTags")+8, 1), false, true},
		{"rubbish behind", append(append([]byte(nil), data...), 1, 2, 3), false, true},
		{"cut off", data[:len(data)-9], false, false},
		{"twice", slices.Concat(data, data), false, false},
		{"nothing", nil, false, false},
	} {
		t.Run(row.name, func(t *testing.T) {
			serial := last.serial
			found, err := walkOpus(bytes.NewReader(row.data), 0, int64(len(row.data)), serial)
			if err != nil || found.speech != row.speech || found.whole != row.whole {
				t.Errorf("%+v, %v, want speech %v, whole %v", found, err, row.speech, row.whole)
			}
		})
	}
}

func BenchmarkWalkOpus(b *testing.B) {
	data := audiotest.Seed(b, "stereo.opus")
	page, _, _ := parsePage(data)
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := walkOpus(bytes.NewReader(data), 0, int64(len(data)), page.serial); err != nil {
			b.Fatal(err)
		}
	}
}
