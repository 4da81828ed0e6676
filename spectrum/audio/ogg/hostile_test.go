package ogg

import (
	"encoding/binary"
	"slices"
	"strings"
	"testing"

	"toneplumb/spectrum/internal/audiotest"
)

// oggPageOf builds a page from whole packets.
func oggPageOf(like page, packets ...[]byte) []byte {
	b := append([]byte(Mark), 0, 0)
	b = binary.LittleEndian.AppendUint64(b, uint64(like.granule))
	b = binary.LittleEndian.AppendUint32(b, like.serial)
	b = binary.LittleEndian.AppendUint32(b, like.number)
	b = append(b, 0, 0, 0, 0)
	var lacing, body []byte
	for _, p := range packets {
		for n := len(p); ; n -= 255 {
			lacing = append(lacing, byte(min(n, 255)))
			if n < 255 {
				break
			}
		}
		body = append(body, p...)
	}
	return audiotest.SealOgg(slices.Concat(b, []byte{byte(len(lacing))}, lacing, body))
}

// Encoders write code books that they never use, without a used entry.
func TestVorbisUnusedBook(t *testing.T) {
	data := audiotest.Seed(t, "stereo.ogg")
	pages := audiotest.SplitOgg(t, data)
	headers, _, _ := parsePage(pages[1])
	at := strings.Index(string(headers.body), "\x05vorbis")
	comment, setup := headers.body[:at], headers.body[at:]
	const markLen = 7
	from := lowBits{b: setup[markLen:]}
	books := from.take(8) + 1
	if _, ok := vorbisBooks(&from, books); !ok {
		t.Fatal("the seed's books are not sound")
	}
	after := from.pos
	from.pos = 0
	var w lowBits
	w.copy(&from, after)
	for _, f := range [][2]int{{0x564342, 24}, {1, 16}, {4, 24}, {0, 1}, {1, 1}, {0, 4}, {0, 4}} { // mark, dimensions, entries, ordered, sparse, entries' marks, lookup
		w.put(f[0], f[1])
	}
	w.copy(&from, 8*len(from.b)-after)
	w.b[0]++ // one book more
	more := slices.Concat(pages[0], oggPageOf(headers, comment, slices.Concat(setup[:markLen], w.b)), slices.Concat(pages[2:]...))
	t.Setenv("PATH", "")
	want := audiotest.DecodeAll(t, opener.OpenFile(t, audiotest.WriteFile(t, "a.ogg", data)), 1000)
	got := audiotest.DecodeAll(t, opener.OpenFile(t, audiotest.WriteFile(t, "b.ogg", more)), 1000)
	if largest, _ := audiotest.Difference(t, got, want); largest != 0 {
		t.Errorf("differs by %g", largest)
	}
}

// Headers that would make the libraries take any amount of memory, hang or panic.
func TestOggHostileHeaders(t *testing.T) {
	const books = 7 + 1 // mark and number of code books
	for _, row := range []struct {
		name, file, mark string
		at               int
		bytes            string
	}{
		{"book without dimensions", "stereo.ogg", "\x05vorbis", books + 3, "\x00\x00"},
		{"book of 65535 dimensions", "stereo.ogg", "\x05vorbis", books + 3, "\xFF\xFF\xFF\xFF\x01"},
		{"book without entries", "stereo.ogg", "\x05vorbis", books + 5, "\x00\x00\x00"},
		{"book of one entry", "stereo.ogg", "\x05vorbis", books + 5, "\x01\x00\x00"},
		{"book of 16 million entries", "stereo.ogg", "\x05vorbis", books + 5, "\xFF\xFF\xFF"},
		{"book with ordered lengths that never end", "stereo.ogg", "\x05vorbis", books + 5, "\xFF\xFF\x01\x01" + strings.Repeat("\x00", 3000)},
		{"sparse book of no entry", "stereo.ogg", "\x05vorbis", books + 5, "\x00\x20\x00\x02" + strings.Repeat("\x00", 3000)},
		{"no channels", "stereo.ogg", "\x01vorbis", 11, "\x00"},
		{"255 channels", "stereo.ogg", "\x01vorbis", 11, "\xFF"},
		{"no sample rate", "stereo.ogg", "\x01vorbis", 12, "\x00\x00\x00\x00"},
		{"4 GHz", "stereo.ogg", "\x01vorbis", 12, "\xFF\xFF\xFF\xFF"},
		{"blocks of 1", "stereo.ogg", "\x01vorbis", 28, "\x00"},
		{"blocks of 32768", "stereo.ogg", "\x01vorbis", 28, "\xFF"},
		{"long blocks shorter than short ones", "stereo.ogg", "\x01vorbis", 28, "\x6B"},
		{"Opus without channels", "stereo.opus", "OpusHead", 9, "\x00"},
		{"Opus with 255 channels", "stereo.opus", "OpusHead", 9, "\xFF"},
		{"Opus of another version", "stereo.opus", "OpusHead", 8, "\xF1"},
		{"Opus of another family", "stereo.opus", "OpusHead", 18, "\xFF"},
		{"Opus without tags", "stereo.opus", "OpusTags", 0, "opusTags"},
	} {
		t.Run(row.name, func(t *testing.T) {
			data := audiotest.Seed(t, row.file)
			i := strings.Index(string(data), row.mark)
			copy(data[i+row.at:], row.bytes)
			if n := opener.Probe(t, audiotest.SealOgg(data)); n != 0 {
				t.Errorf("%d frames of a file that should be refused", n)
			}
		})
	}
	// More delay than sound: a file of nothing, not an error.
	data := audiotest.Seed(t, "stereo.opus")
	copy(data[strings.Index(string(data), "OpusHead")+10:], "\xFF\xFF")
	if n := opener.Probe(t, audiotest.SealOgg(data)); n != 0 {
		t.Errorf("%d frames, all should be left out", n)
	}
}
