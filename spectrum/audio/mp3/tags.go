package mp3

import (
	"bytes"
	"encoding/binary"
	"io"

	"toneplumb/spectrum/audio/codec"
)

// decoderDelay is the delay of a layer III decoder in samples: 528 of the hybrid filter bank and one more that the LAME
// tag assumes (LAME's technical FAQ, from memory; measured here against ffmpeg 5.1).
const decoderDelay = 529

// gapless is the content of the information frame at the start of an MP3 stream.
type gapless struct {
	infoFrame  bool  // whether the first frame is one and holds no sound
	frameCount int64 // MPEG frames after it; -1 if unknown
	delay      int   // samples that the encoder added in front; -1 if unknown
	padding    int   // samples that the encoder added at the end
}

// readInfoFrame looks for a Xing, Info or VBRI header in the first frame, whose bytes are b. Without such a header,
// decoders in common use (ffmpeg 5.1) play everything, the encoder's delay included. With a header that gives no delay,
// they leave out only the information frame itself. So does this package.
// Source for the Xing and LAME layouts: G. Bouvigne and others, "MP3 Info Tag revision 1", from memory.
func readInfoFrame(h Header, b []byte) gapless {
	g := gapless{frameCount: -1, delay: -1}
	for _, at := range []int{HeaderLen + h.SideLen(), h.MainAt()} {
		if at+8 <= len(b) && (string(b[at:at+4]) == "Xing" || string(b[at:at+4]) == "Info") {
			g.infoFrame = true
			g.readXing(b[at+4:])
			return g
		}
	}
	const vbriAt, vbriFramesAt = HeaderLen + 32, 14
	if at := vbriAt; at+vbriFramesAt+4 <= len(b) && string(b[at:at+4]) == "VBRI" {
		g.infoFrame = true
		g.frameCount = int64(binary.BigEndian.Uint32(b[at+vbriFramesAt:]))
	}
	return g
}

// readXing reads the header after the word Xing or Info.
func (g *gapless) readXing(b []byte) {
	const hasFrames, hasBytes, hasTable, hasQuality = 1, 2, 4, 8
	const tableLen = 100
	flags := binary.BigEndian.Uint32(b)
	b = b[4:]
	if flags&hasFrames != 0 && len(b) >= 4 {
		g.frameCount = int64(binary.BigEndian.Uint32(b))
	}
	skip := 0
	for _, f := range []struct {
		flag uint32
		len  int
	}{{hasFrames, 4}, {hasBytes, 4}, {hasTable, tableLen}, {hasQuality, 4}} {
		if flags&f.flag != 0 {
			skip += f.len
		}
	}
	const delayAt = 21
	if skip+delayAt+3 > len(b) {
		return
	}
	tag := b[skip:]
	if name := string(tag[:4]); name != "LAME" && name != "Lavf" && name != "Lavc" && name != "GOGO" {
		return
	}
	v := int(tag[delayAt])<<16 | int(tag[delayAt+1])<<8 | int(tag[delayAt+2])
	g.delay, g.padding = v>>12, v&0xFFF
}

// tailTagsAt returns the offset at which the tags at the end of a file start: ID3v1 (128 bytes, "TAG") and APEv2 before
// it. Without tags it returns size.
func tailTagsAt(r io.ReaderAt, start, size int64) (int64, error) {
	const id3v1Len, apeFooterLen = 128, 32
	end := size
	if end-id3v1Len >= start {
		var b [3]byte
		if err := codec.ReadAt(r, b[:], end-id3v1Len); err != nil {
			return end, err
		}
		if string(b[:]) == "TAG" {
			end -= id3v1Len
		}
	}
	if end-apeFooterLen >= start {
		var b [apeFooterLen]byte
		if err := codec.ReadAt(r, b[:], end-apeFooterLen); err != nil {
			return end, err
		}
		if bytes.HasPrefix(b[:], []byte("APETAGEX")) {
			n := int64(binary.LittleEndian.Uint32(b[12:])) // footer included, header not
			if b[23]&0x80 != 0 {
				n += apeFooterLen
			}
			if n >= apeFooterLen && end-n >= start {
				end -= n
			}
		}
	}
	return end, nil
}
