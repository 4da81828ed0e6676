package audio

import (
	"bytes"
	"encoding/binary"
	"unicode"
	"unicode/utf16"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/finding"
)

// sniffLen is the number of bytes at the start by which the kinds of files are recognised.
const sniffLen = 64

// toolKinds are recordings that are read through a converter. The signatures are those of the formats' specifications,
// from memory.
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

const nameRecording = "give a recording, such as WAV, AIFF, FLAC, MP3, Ogg or Opus"

// noKinds are files that are no recordings but may be named by mistake.
var noKinds = []struct{ mark, problem, hint string }{
	{"MThd", "is a MIDI file: notes without sound", "export the song as WAV"},
	{"PK\x03\x04", "is a packed archive, not a recording", "unpack it first"},
	{"\x1F\x8B", "is a packed archive, not a recording", "unpack it first"},
	{"\x89PNG", "is a picture, not a recording", nameRecording},
	{"\xFF\xD8\xFF", "is a picture, not a recording", nameRecording},
	{"GIF8", "is a picture, not a recording", nameRecording},
	{"%PDF", "is a PDF document, not a recording", nameRecording},
}

// otherKind returns an error that names a known kind of file that is not read here, or nil.
func otherKind(head []byte) *codec.Error {
	for _, k := range toolKinds {
		if len(head) >= k.at+len(k.mark) && string(head[k.at:k.at+len(k.mark)]) == k.mark {
			return codec.NeedsTool(k.kind)
		}
	}
	for _, k := range noKinds {
		if bytes.HasPrefix(head, []byte(k.mark)) {
			return codec.NewError(finding.NotARecording, k.problem, k.hint)
		}
	}
	const wordLen = 16 // Our choice: this many printable characters in a row are text
	if len(head) >= wordLen && (isText(head) || isUTF16(head)) {
		return codec.NewError(finding.NotARecording, "is a text file, not a recording", nameRecording)
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

// isUTF16 reports whether b is a byte order mark followed by text in UTF-16.
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
