package ogg

import (
	"encoding/binary"
	"fmt"

	"github.com/pion/opus"

	"toneplumb/spectrum"
	"toneplumb/spectrum/audio/codec"
)

// opusDecoder decodes Opus. Sources: RFC 7845, section 5.1 (identification header), RFC 6716, section 3.1 (packets).
type opusDecoder struct {
	channels int
	preSkip  int64
	gain     float32
	packets  int
	dec      opus.Decoder
}

const (
	opusRateHz    = 48000                   // the format's own rate, regardless of the encoder's input
	opusMaxFrames = opusRateHz * 120 / 1000 // frames in the longest packet, 120 ms
)

func (c *opusDecoder) header(packet []byte) (bool, error) {
	c.packets++
	if c.packets == 2 {
		if len(packet) < 8 || string(packet[:8]) != "OpusTags" {
			return false, codec.Damaged("is an Opus file whose header is damaged")
		}
		return true, nil
	}
	const headLen = 19
	if len(packet) < headLen || packet[8] >= 16 {
		return false, codec.Damaged("is an Opus file whose header is damaged")
	}
	c.channels = int(packet[9])
	c.preSkip = int64(binary.LittleEndian.Uint16(packet[10:]))
	gainDB := float64(int16(binary.LittleEndian.Uint16(packet[16:]))) / 256
	c.gain = float32(spectrum.DBToAmp(gainDB))
	if family := packet[18]; c.channels < 1 || c.channels > 2 || family > 1 {
		return false, codec.NeedsTool(fmt.Sprintf("an Opus file with %d channels", c.channels))
	}
	var err error
	c.dec, err = opus.NewDecoderWithOutput(opusRateHz, c.channels)
	return false, err
}

func (c *opusDecoder) format() codec.Format {
	return codec.Format{Container: "Ogg", Encoding: "Opus", RateHz: opusRateHz, Channels: c.channels, Lossy: true}
}

func (c *opusDecoder) maxFrames() int { return opusMaxFrames }
func (c *opusDecoder) skip() int64    { return c.preSkip }

// restart does nothing: the decoder recovers within a few packets, sooner than with a cleared state.
func (c *opusDecoder) restart() {}

func (c *opusDecoder) decode(dst []float32, packet []byte) (frames int, err error) {
	if len(packet) == 0 {
		return 0, nil
	}
	defer func() {
		if p := recover(); p != nil {
			frames, err = 0, fmt.Errorf("opus decoder: %v", p)
		}
		if err != nil {
			c.dec, _ = opus.NewDecoderWithOutput(opusRateHz, c.channels)
		}
	}()
	frames, err = c.dec.DecodeToFloat32(packet, dst)
	if err != nil {
		return 0, err
	}
	if c.gain != 1 {
		for i := range dst[:frames*c.channels] {
			dst[i] *= c.gain
		}
	}
	return frames, nil
}
