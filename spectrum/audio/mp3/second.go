package mp3

import (
	"encoding/binary"
	"fmt"
	"io"
	"math"

	gomp3 "github.com/hajimehoshi/go-mp3"
)

// No decoder is trusted alone: the first frames of a file are decoded by go-mp3 as well. If the two differ, go-mp3, which
// has been in use for longer, decodes the whole file.
//
// go-mp3 v0.3.4 has faults of its own, and frames that they affect are not compared. It undoes mid-side stereo of short
// blocks only up to the last coded line, takes the directions of intensity stereo from the wrong channel, reads padded
// frames of MPEG-2 one byte short and their mixed blocks wrong, supports neither MPEG-2.5 nor free format, and decodes
// noise if the reservoir is missing. Its output is 16-bit integers, clipped at full scale.

// second decodes with go-mp3, frame by frame.
type second struct {
	dec   *gomp3.Decoder
	held  int    // bytes of main data that it has seen
	frame []byte // the part of the current frame that it has not read yet
	pcm   []byte
	mute  []byte // a frame without sound
}

// secondReads reports whether go-mp3 can read a stream. 22.05 kHz is excluded because it is the only rate of MPEG-2 at
// which frames need padding.
func secondReads(h Header) bool {
	return h.Version != MPEG25 && h.Bitrate > 0 && h.RateHz != 22050
}

// Read returns bytes of the current frame to go-mp3.
func (p *second) Read(b []byte) (int, error) {
	if len(p.frame) == 0 {
		return 0, io.EOF
	}
	n := copy(b, p.frame)
	p.frame = p.frame[n:]
	return n, nil
}

func (p *second) Forget() { p.held = 0 }

// Decode decodes a frame. If its reservoir is missing, go-mp3 gets it without side information, which decodes to silence:
// later frames may need its main data.
func (p *second) Decode(frame []byte, out *Block) (Header, error) {
	*out = Block{}
	h, ok := ParseHeader(frame)
	if !ok || len(frame) < h.MainAt() {
		return h, ErrDamaged
	}
	p.frame = frame
	side := frame[h.MainAt()-h.SideLen() : h.MainAt()]
	begin := int(side[0])
	if h.Version == MPEG1 {
		begin = begin<<1 | int(side[1]>>7)
	}
	missing := begin > p.held
	if missing {
		p.mute = append(p.mute[:0], frame...)
		clear(p.mute[h.MainAt()-h.SideLen() : h.MainAt()])
		p.frame = p.mute
	}
	const frameBytes = 4 // two channels of 16 bits, for mono the same twice
	p.pcm = append(p.pcm[:0], make([]byte, frameBytes*h.Samples())...)
	if err := p.decode(); err != nil {
		p.dec, p.held = nil, 0
		return h, err
	}
	p.held += len(frame) - h.MainAt()
	if missing {
		return h, ErrReservoir
	}
	for ch := range h.Channels() {
		for i := range h.Samples() {
			out[ch][i] = secondSample(int16(binary.LittleEndian.Uint16(p.pcm[frameBytes*i+2*ch:])))
		}
	}
	return h, nil
}

// decode decodes the current frame to pcm. A panic of the library becomes an error.
func (p *second) decode() (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("mp3 decoder: %v", r)
		}
	}()
	if p.dec == nil {
		// p cannot seek, so NewDecoder reads one frame and does not scan a file.
		if p.dec, err = gomp3.NewDecoder(p); err != nil {
			return err
		}
	}
	_, err = io.ReadFull(p.dec, p.pcm)
	return err
}

const secondFull = 32767 // go-mp3's full scale

// secondSample converts a 16-bit word to a sample. go-mp3 multiplies by 32767 and truncates towards zero. Half a step away
// from zero makes up for that on average, and leaves silence silent.
func secondSample(word int16) float32 {
	x := float32(word)
	switch {
	case word >= secondFull:
		x = secondFull
	case word <= -secondFull:
		x = -secondFull
	case word > 0:
		x += 0.5
	case word < 0:
		x -= 0.5
	}
	return x * (1.0 / secondFull)
}

// agreement is the largest accepted difference between the decoders, in steps of 16 bits. The truncation leaves half a
// step, the rounding errors of both another half.
const agreement = 2

// secondDiffers decodes a first segment with go-mp3 and returns the largest difference, in steps of 16 bits, in frames
// where both should agree.
func (g *segment) secondDiffers() (steps float64) {
	var own Decoder // to know of short blocks
	var second second
	var a, b Block
	passed := 0 // frames to pass over before the next that can be compared
	for i := range g.sound {
		if g.frames[i].gap {
			second.Forget()
			own.Forget()
		}
		own.Decode(g.frame(i), &a)
		h, err := second.Decode(g.frame(i), &b)
		short, mixed := own.Blocks()
		low := h.Version != MPEG1
		switch {
		case low && h.Padding > 0:
			return steps // the reservoir is one byte short from here on
		case err != nil, g.broken[i], h.Intensity(), h.MidSide() && short, low && mixed:
			passed = prerollFrames + 1
		}
		if passed > 0 {
			passed--
			continue
		}
		for ch := range h.Channels() {
			for k, x := range g.sound[i][ch][:h.Samples()] {
				steps = max(steps, secondFull*math.Abs(float64(max(-1, min(1, x))-b[ch][k])))
			}
		}
	}
	return steps
}
