package pcm

import (
	"encoding/binary"
	"fmt"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/finding"
)

// Fields of a WAV file's fmt chunk and its format tags, from Microsoft's mmreg.h and "Multiple Channel Audio Data
// and WAVE Files" (2001), from memory.
const (
	fmtMinLen     = 16
	fmtMaxLen     = 40 // EXTENSIBLE
	tagPCM        = 0x0001
	tagFloat      = 0x0003
	tagExtensible = 0xFFFE
)

// layout describes the format of the samples in the data chunk of a WAV file.
type layout struct {
	rateHz   int
	channels int
	float    bool
	width    int // bytes of one sample's container
	align    int // bytes of one frame
	bits     int // significant bits of an integer sample, at the container's top
}

// packed names the kinds of compressed sound in WAV files. Tags from mmreg.h, from memory.
var packed = map[int]string{
	0x0002: "ADPCM", 0x0006: "A-law", 0x0007: "µ-law", 0x0011: "ADPCM", 0x0031: "GSM",
	0x0050: "MPEG layer II", 0x0055: "MP3", 0x00FF: "AAC", 0x0161: "Windows Media", 0x1610: "AAC",
}

// parseLayout reads the body of a fmt chunk.
func parseLayout(b []byte, order binary.ByteOrder) (layout, error) {
	var l layout
	if len(b) < fmtMinLen {
		return l, codec.Damaged("is a WAV file without a description of its sound (no usable fmt chunk)")
	}
	u16 := func(i int) int { return int(order.Uint16(b[i:])) }
	tag, validBits := u16(0), 0
	if tag == tagExtensible {
		if len(b) < fmtMaxLen {
			return l, codec.Damaged("is a WAV file with an incomplete description of its sound")
		}
		validBits = u16(18)
		tag = u16(24)
		if tag == 0 && order == binary.BigEndian {
			tag = u16(26) // the lower half of the GUID's first number; sox 14.4.2 writes it at 24, as in little-endian files
		}
	}
	rateHz := order.Uint32(b[4:])
	l.channels = u16(2)
	if err := codec.CheckFormat(int64(rateHz), l.channels); err != nil {
		return l, err
	}
	if tag != tagPCM && tag != tagFloat {
		return l, packedError("a WAV file", packed[tag], fmt.Sprintf("tag 0x%04X", tag))
	}
	l.rateHz, l.float, l.bits = int(rateHz), tag == tagFloat, u16(14)
	l.setWidth(u16(12))
	if err := l.check(); err != nil {
		return l, err
	}
	if !l.float && validBits >= 4 && validBits < l.bits {
		l.bits = validBits
	}
	return l, nil
}

// packedError returns the error for a file that holds another kind of sound than plain samples. An unknown kind, "", is
// named by its code; a known one may be read by another decoder.
func packedError(file, kind, code string) error {
	known := kind != ""
	if !known {
		kind = "an unknown kind of (" + code + ")"
	}
	e := codec.NewError(finding.CannotDecode, "is "+file+" that holds "+kind+" sound, not plain samples", codec.HintConvert)
	if known {
		e.AllowTool()
	}
	return e
}

// setWidth sets the bytes of a sample and of a frame from the significant bits and align, the bytes of a frame by the
// header.
func (l *layout) setWidth(align int) {
	l.width = (l.bits + 7) / 8
	if align%l.channels == 0 && align/l.channels > l.width {
		l.width = align / l.channels // a container wider than its samples, such as 24 bits in 32
	}
	l.align = l.width * l.channels
}

// check returns an error if samples of this width cannot be read.
func (l layout) check() error {
	kind, readable := "integer", l.bits >= 4 && l.bits <= 32 && l.width <= 4
	if l.float {
		kind, readable = "float", (l.bits == 32 || l.bits == 64) && l.width == l.bits/8
	}
	if readable {
		return nil
	}
	return codec.NewError(finding.CannotDecode, fmt.Sprintf("is a WAV file with %d-bit %s samples in %d bytes each, which cannot be read", l.bits, kind, l.width), codec.HintConvert)
}

func (l layout) encoding() string {
	if l.float {
		return fmt.Sprintf("%d-bit float", l.bits)
	}
	return fmt.Sprintf("%d-bit PCM", l.bits)
}

// canonical returns the 44 bytes of a plain WAV header for the layout, the only form that the WAV library reads correctly.
func (l layout) canonical() []byte {
	h := make([]byte, 0, 44)
	h = append(h, "RIFF\x24\x00\x00\x00WAVEfmt \x10\x00\x00\x00"...)
	tag := uint16(tagPCM)
	if l.float {
		tag = tagFloat
	}
	h = binary.LittleEndian.AppendUint16(h, tag)
	h = binary.LittleEndian.AppendUint16(h, uint16(l.channels))
	h = binary.LittleEndian.AppendUint32(h, uint32(l.rateHz))
	h = binary.LittleEndian.AppendUint32(h, uint32(l.rateHz*l.align))
	h = binary.LittleEndian.AppendUint16(h, uint16(l.align))
	h = binary.LittleEndian.AppendUint16(h, uint16(8*l.width))
	return append(h, "data\x00\x00\x00\x00"...)
}
