package ogg

import (
	"encoding/binary"
	"fmt"

	"github.com/jfreymuth/vorbis"

	"toneplumb/spectrum/audio/codec"
)

// vorbisDecoder decodes Vorbis. It uses the library's packet decoder, not its reader, which clips at full scale and
// stops at the first damage.
type vorbisDecoder struct {
	channels int
	rateHz   int
	packets  int
	dec      vorbis.Decoder
}

// vorbisMaxChannels is 2 because the library fails on the low-frequency channel of surround sound, whose floor has no
// partitions.
const vorbisMaxChannels = 2

// header takes the three header packets. Source: Vorbis I specification, section 4.2.
func (c *vorbisDecoder) header(packet []byte) (done bool, err error) {
	damaged := codec.Damaged("is an Ogg Vorbis file whose header is damaged")
	damaged.AllowTool()
	unusual := codec.NeedsTool("an Ogg Vorbis file of an unusual or damaged kind")
	defer func() {
		if p := recover(); p != nil {
			done, err = false, unusual
		}
	}()
	c.packets++
	if !vorbis.IsHeader(packet) || packet[0] != byte(2*c.packets-1) {
		return false, damaged
	}
	switch c.packets {
	case 1:
		if err := c.identification(packet); err != nil {
			return false, err
		}
	case 2: // comments, perhaps with a picture: they are not needed, and the library would trust their sizes
		return false, nil
	case 3:
		const markLen = 7
		setup, ok := vorbisSetup(packet[markLen:])
		if !ok {
			return false, unusual
		}
		packet = append(packet[:markLen:markLen], setup...)
	}
	if err := c.dec.ReadHeader(packet); err != nil {
		return false, unusual
	}
	return c.packets == 3, nil
}

// identification reads the identification header and checks the fields that the library does not check.
func (c *vorbisDecoder) identification(packet []byte) error {
	const idLen, minShift, maxShift = 30, 6, 13
	damaged := codec.Damaged("is an Ogg Vorbis file whose header is damaged")
	if len(packet) < idLen {
		return damaged
	}
	c.channels = int(packet[11])
	rateHz := binary.LittleEndian.Uint32(packet[12:])
	if err := codec.CheckFormat(int64(rateHz), c.channels); err != nil {
		return err
	}
	c.rateHz = int(rateHz)
	if c.channels > vorbisMaxChannels {
		return codec.NeedsTool(fmt.Sprintf("an Ogg Vorbis file with %d channels", c.channels))
	}
	short, long := packet[28]&15, packet[28]>>4
	if short < minShift || long > maxShift || short > long {
		return damaged
	}
	return nil
}

func (c *vorbisDecoder) format() codec.Format {
	return codec.Format{Container: "Ogg", Encoding: "Vorbis", RateHz: c.rateHz, Channels: c.channels, Lossy: true}
}

func (c *vorbisDecoder) maxFrames() int { return c.dec.BufferSize() / c.channels }
func (c *vorbisDecoder) skip() int64    { return 0 }
func (c *vorbisDecoder) restart()       { c.dec.Clear() }

func (c *vorbisDecoder) decode(dst []float32, packet []byte) (frames int, err error) {
	if len(packet) == 0 {
		return 0, nil
	}
	defer func() {
		if p := recover(); p != nil {
			frames, err = 0, fmt.Errorf("vorbis decoder: %v", p)
		}
	}()
	out, err := c.dec.DecodeInto(packet, dst)
	if err != nil {
		return 0, err
	}
	return len(out) / c.channels, nil
}
