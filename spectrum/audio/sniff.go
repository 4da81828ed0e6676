package audio

import (
	"bytes"
	"encoding/binary"
	"io"
	"unicode"
	"unicode/utf16"
)

// sniffLen is how many bytes at the start tell the kinds of files apart.
const sniffLen = 64

func isWAV(head []byte) bool {
	if len(head) < riffHeaderLen || string(head[8:12]) != "WAVE" {
		return false
	}
	switch string(head[:4]) {
	case "RIFF", bigEndianWAV, "RF64", "BW64":
		return true
	}
	return false
}

func isFLAC(head []byte) bool { return bytes.HasPrefix(head, []byte(flacMark)) }

func isAIFF(head []byte) bool {
	return len(head) >= riffHeaderLen && string(head[:4]) == "FORM" && (string(head[8:12]) == "AIFF" || string(head[8:12]) == "AIFC")
}

// toolKinds are recordings that are read through a converter. Signatures from the formats' specifications, from memory.
var toolKinds = []struct {
	at         int
	mark, kind string
}{
	{4, "ftyp", "an MP4 or M4A file"},
	{4, "moov", "a QuickTime file"},
	{4, "mdat", "a QuickTime file"},
	{0, "\xFF\xF1", "an AAC file"},
	{0, "\xFF\xF9", "an AAC file"},
	{0, "ADIF", "an AAC file"},
	{0, "\x30\x26\xB2\x75\x8E\x66\xCF\x11", "a Windows Media file"},
	{0, "riff\x2E\x91\xCF\x11", "a Wave64 file"},
	{0, "caff", "a Core Audio file"},
	{0, "wvpk", "a WavPack file"},
	{0, "MAC ", "a Monkey's Audio file"},
	{0, "TTA1", "a True Audio file"},
	{0, "tBaK", "a TAK file"},
	{0, "MPCK", "a Musepack file"},
	{0, "MP+", "a Musepack file"},
	{0, "DSD ", "a DSD file"},
	{0, ".snd", "an AU file"},
	{8, "8SVX", "an 8SVX file"},
	{0, "Creative Voice File", "a VOC file"},
	{0, "#!AMR", "an AMR file"},
	{0, "\x0B\x77", "an AC-3 file"},
	{0, "\x7F\xFE\x80\x01", "a DTS file"},
	{0, ".RMF", "a RealMedia file"},
	{0, "\x1A\x45\xDF\xA3", "a Matroska or WebM file"},
	{8, "AVI ", "an AVI video file"},
	{0, "FLV\x01", "a Flash video file"},
	{0, "\x00\x00\x01\xBA", "an MPEG video file"},
}

const nameRecording = "name a recording, such as WAV, AIFF, FLAC, MP3, Ogg or Opus"

// noKinds are files that people name by mistake.
var noKinds = []struct{ mark, problem, hint string }{
	{"MThd", "is a MIDI file: notes without sound", "export the song as WAV"},
	{"PK\x03\x04", "is a packed archive, not a recording", "unpack it first"},
	{"\x1F\x8B", "is a packed archive, not a recording", "unpack it first"},
	{"\x89PNG", "is a picture, not a recording", nameRecording},
	{"\xFF\xD8\xFF", "is a picture, not a recording", nameRecording},
	{"GIF8", "is a picture, not a recording", nameRecording},
	{"%PDF", "is a PDF document, not a recording", nameRecording},
}

// otherKind names a known kind of file that is not read here, or returns nil.
func otherKind(head []byte) *Error {
	for _, k := range toolKinds {
		if len(head) >= k.at+len(k.mark) && string(head[k.at:k.at+len(k.mark)]) == k.mark {
			return needsTool(k.kind)
		}
	}
	for _, k := range noKinds {
		if bytes.HasPrefix(head, []byte(k.mark)) {
			return problem(k.problem, k.hint)
		}
	}
	const wordLen = 16 // Our choice: so many printable characters in a row are text
	if len(head) >= wordLen && (isText(head) || isUTF16(head)) {
		return problem("is a text file, not a recording", nameRecording)
	}
	return nil
}

func isText(b []byte) bool {
	for _, c := range b {
		if c < ' ' && c != '\n' && c != '\r' && c != '\t' {
			return false
		}
	}
	return bytes.IndexByte(b, 0xFF) < 0
}

// isUTF16 reports whether b is text in UTF-16 behind a byte order mark.
func isUTF16(b []byte) bool {
	var order binary.ByteOrder
	switch {
	case bytes.HasPrefix(b, []byte("\xFF\xFE")):
		order = binary.LittleEndian
	case bytes.HasPrefix(b, []byte("\xFE\xFF")):
		order = binary.BigEndian
	default:
		return false
	}
	for b = b[2:]; len(b) >= 2; b = b[2:] {
		if c := rune(order.Uint16(b)); !unicode.IsPrint(c) && !unicode.IsSpace(c) && !utf16.IsSurrogate(c) {
			return false
		}
	}
	return true
}

// skipID3v2 returns the offset after all ID3v2 tags at the start, however large, at most size.
// Source: ID3v2.4 structure, section 3.1 (synchsafe size, footer flag), from memory.
func skipID3v2(r io.ReaderAt, size int64) (start int64, tagged bool, err error) {
	for {
		n, err := id3v2Len(r, start, size)
		if err != nil || n == 0 {
			return start, tagged, err
		}
		tagged = true
		start = min(start+n, size)
	}
}

const id3v2HeaderLen = 10

// id3v2Len returns the length of an ID3v2 tag at pos, 0 if there is none.
func id3v2Len(r io.ReaderAt, pos, size int64) (int64, error) {
	if pos+id3v2HeaderLen > size {
		return 0, nil
	}
	var b [id3v2HeaderLen]byte
	if err := readAt(r, b[:], pos); err != nil {
		return 0, err
	}
	return id3v2Size(b[:]), nil
}

// id3v2Size returns the whole length of the tag whose first ten bytes are b, 0 if b starts no tag.
func id3v2Size(b []byte) int64 {
	if len(b) < id3v2HeaderLen || string(b[:3]) != "ID3" || b[3] == 0xFF || b[4] == 0xFF || (b[6]|b[7]|b[8]|b[9])&0x80 != 0 {
		return 0
	}
	n := int64(b[6])<<21 | int64(b[7])<<14 | int64(b[8])<<7 | int64(b[9])
	const hasFooter = 0x10
	if b[5]&hasFooter != 0 {
		n += id3v2HeaderLen
	}
	return n + id3v2HeaderLen
}
