package audio

import (
	"bytes"
	"io"
)

// sniffLen is how many bytes at the start tell the kinds of files apart.
const sniffLen = 64

func isWAV(head []byte) bool {
	if len(head) < riffHeaderLen || string(head[8:12]) != "WAVE" {
		return false
	}
	switch string(head[:4]) {
	case "RIFF", "RF64", "BW64":
		return true
	}
	return false
}

func isFLAC(head []byte) bool { return bytes.HasPrefix(head, []byte(flacMark)) }

const hintNotYet = "convert it to WAV or FLAC first"

// kinds are files that people do bring and that are not read. Signatures from the formats' specifications, from memory.
var kinds = []struct {
	at            int
	mark          string
	problem, hint string
}{
	{28, "\x01vorbis", "is an Ogg Vorbis file, which cannot be read yet", hintNotYet},
	{28, "OpusHead", "is an Opus file, which cannot be read yet", hintNotYet},
	{28, "\x7fFLAC", "is a FLAC stream in an Ogg file, which cannot be read", "convert it to a plain FLAC file or WAV first"},
	{0, "OggS", "is an Ogg file, which cannot be read yet", hintNotYet},
	{8, "AIFF", "is an AIFF file, which cannot be read yet", hintNotYet},
	{8, "AIFC", "is an AIFF file, which cannot be read yet", hintNotYet},
	{4, "ftyp", "is an MP4 or M4A file, which cannot be read yet", hintNotYet},
	{0, "\xFF\xF1", "is an AAC file, which cannot be read yet", hintNotYet},
	{0, "\xFF\xF9", "is an AAC file, which cannot be read yet", hintNotYet},
	{0, "\x30\x26\xB2\x75\x8E\x66\xCF\x11", "is a Windows Media file, which cannot be read", hintConvert},
	{0, "riff\x2E\x91\xCF\x11", "is a Wave64 file, which cannot be read", hintConvert},
	{0, "RIFX", "is a big-endian WAV file, which cannot be read", hintConvert},
	{0, "caff", "is a Core Audio file, which cannot be read", hintConvert},
	{0, "wvpk", "is a WavPack file, which cannot be read", hintConvert},
	{0, "MAC ", "is a Monkey's Audio file, which cannot be read", hintConvert},
	{0, ".snd", "is an AU file, which cannot be read", hintConvert},
	{0, "MThd", "is a MIDI file: notes without sound", "export the song as WAV"},
	{0, "\x1A\x45\xDF\xA3", "is a Matroska or WebM file, which cannot be read", hintConvert},
	{8, "AVI ", "is a video file, which cannot be read", hintConvert},
	{0, "PK\x03\x04", "is a packed archive, not a recording", "unpack it first"},
	{0, "\x89PNG", "is a picture, not a recording", "name a WAV, MP3 or FLAC file"},
	{0, "\xFF\xD8\xFF", "is a picture, not a recording", "name a WAV, MP3 or FLAC file"},
	{0, "%PDF", "is a PDF document, not a recording", "name a WAV, MP3 or FLAC file"},
}

// otherKind names a known kind of file that is not read, or returns "".
func otherKind(head []byte) (problem, hint string) {
	for _, k := range kinds {
		if len(head) >= k.at+len(k.mark) && string(head[k.at:k.at+len(k.mark)]) == k.mark {
			return k.problem, k.hint
		}
	}
	const wordLen = 16 // Our choice: so many printable characters in a row are text
	if len(head) >= wordLen && isText(head) {
		return "is a text file, not a recording", "name a WAV, MP3 or FLAC file"
	}
	return "", ""
}

func isText(b []byte) bool {
	for _, c := range b {
		if c < ' ' && c != '\n' && c != '\r' && c != '\t' {
			return false
		}
	}
	return bytes.IndexByte(b, 0xFF) < 0
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
