package mp3

import (
	"bytes"
	"math"
	"testing"

	"toneplumb/spectrum/audio/codec"
)

// stepsApart returns the largest difference between decoded frames in steps of 16 bits, clipped at full scale.
func stepsApart(t testing.TB, got, want []Block) (steps float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%d frames, want %d", len(got), len(want))
	}
	for i := range got {
		for ch := range got[i] {
			for k, x := range got[i][ch] {
				steps = max(steps, secondFull*math.Abs(float64(max(-1, min(1, x))-want[i][ch][k])))
			}
		}
	}
	return steps
}

// go-mp3 and our decoder agree where go-mp3 has no fault.
func TestMP3TwoDecoders(t *testing.T) {
	for _, row := range []struct {
		name             string
		rateHz, channels int
		args             []string
	}{
		{"plain stereo", 44100, 2, []string{"-b", "192", "-m", "s"}},
		{"short blocks", 44100, 1, []string{"-V", "2", "--allshort"}},
		{"48 kHz", 48000, 1, []string{"-b", "64", "-p"}},
		{"24 kHz", 24000, 2, []string{"-b", "64", "-m", "s"}},
		{"16 kHz", 16000, 1, []string{"-V", "4"}},
		{"above full scale", 44100, 1, []string{"-b", "128", "--scale", "3"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			data := mp3Of(t, row.rateHz, row.channels, 3, row.args...)
			ours, _ := serialMP3(t, data, new(Decoder))
			second, _ := serialMP3(t, data, new(second))
			if steps := stepsApart(t, ours, second); steps > agreement {
				t.Errorf("%.2f steps apart", steps)
			}
		})
	}
}

// Files on which go-mp3 has a fault are not decoded by it.
func TestMP3FaultsOfSecond(t *testing.T) {
	for _, row := range []struct {
		name             string
		rateHz, channels int
		args             []string
	}{
		{"mid-side with short blocks", 44100, 2, []string{"-b", "128", "-m", "f"}},
		{"padding at 22.05 kHz", 22050, 2, []string{"-b", "64"}},
		{"MPEG-2.5", 11025, 1, []string{"-b", "32"}},
		{"above full scale", 44100, 2, []string{"-b", "128", "--scale", "3"}},
	} {
		data := mp3Of(t, row.rateHz, row.channels, 3, row.args...)
		ours, _ := serialMP3(t, data, new(Decoder))
		second, _ := serialMP3(t, data, new(second))
		apart := stepsApart(t, ours, second)
		if row.name != "above full scale" && apart <= agreement {
			t.Errorf("%s: go-mp3 has no fault here: %.2f steps", row.name, apart)
		}
		s := openData(t, data)
		if got, _ := allMP3(t, data); s.steps > 0 || stepsApart(t, got, ours) != 0 {
			t.Errorf("%s: %.2f steps, and not our decoder's sound", row.name, s.steps)
		}
	}
}

// flawed is our decoder with a mistake: 1 % too loud.
type flawed struct{ Decoder }

func (d *flawed) Decode(frame []byte, out *Block) (Header, error) {
	h, err := d.Decoder.Decode(frame, out)
	for ch := range out {
		for i := range out[ch] {
			out[ch][i] *= 1.01
		}
	}
	return h, err
}

// If our decoder is wrong, go-mp3 decodes the file and there is a warning.
func TestMP3SecondIsTaken(t *testing.T) {
	data := mp3Of(t, 44100, 2, 12, "-b", "160", "-m", "s", "-t")
	s := openData(t, data)
	frames := newFrames(bytes.NewReader(data), 0, int64(len(data)), s.first)
	s.segments = &segments{frames: frames, decoder: func() frameDecoder { return new(flawed) }}
	if err := s.open(); err != nil {
		t.Fatal(err)
	}
	var got []Block
	for b, _, err := s.segments.next(); err == nil; b, _, err = s.segments.next() {
		got = append(got, *b)
	}
	want, _ := serialMP3(t, data, new(second))
	if steps := stepsApart(t, got, want); steps != 0 {
		t.Errorf("%.2f steps from what go-mp3 alone makes of the file", steps)
	}
	if w := s.Warnings(); len(w) != 1 || w[0].Kind != codec.DecodersDiffer || w[0].Count == 0 {
		t.Errorf("warnings %+v", w)
	}
}
