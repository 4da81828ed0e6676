package audio

import (
	"context"
	"encoding/binary"
	"io"
	"math"
	"os"
	"slices"
	"sync"

	"toneplumb/spectrum/audio/pcm"
)

// Cache opens recordings and keeps the decoded sound of chosen ones, so that each of them is decoded only once. The
// sound goes into temporary files that only their owner may read. Where the system allows it the files have no name, so
// nothing is left behind even if the program is killed. A recording that cannot be kept (too long, no space left on the
// drive, samples that do not fit 32-bit floats) is decoded again; the samples are the same, bit for bit.
//
// A nil Cache keeps nothing. Goroutines may share a Cache.
type Cache struct {
	Folder string // for the temporary files; "" means the system's

	paths   []string
	lock    sync.Mutex
	closed  bool
	entries map[string]*entry // by path; nil while it is being read and if it could not be kept
}

// entry is the sound of one recording: a file of frames, each with a 32-bit float for every channel. These hold exactly
// what the decoders return: FLAC has at most 24 bits, and the lossy decoders work in 32-bit floats.
type entry struct {
	file   *os.File
	format Format
	warns  []Remark
	bytes  int64
}

// entryMax bounds the temporary file of one recording. Our choice: 25 minutes of stereo.
const entryMax = 1 << 29

// NewCache returns a cache that keeps the recordings at these paths. Close it when done.
func NewCache(paths ...string) *Cache {
	return &Cache{paths: paths, entries: map[string]*entry{}}
}

// Open is like the function [Open], but serves a recording from the cache once it has been read to the end.
func (k *Cache) Open(ctx context.Context, path string) (Source, error) {
	if k == nil || !slices.Contains(k.paths, path) {
		return Open(ctx, path)
	}
	k.lock.Lock()
	have, begun := k.entries[path]
	keeps := !begun && !k.closed
	if keeps {
		k.entries[path] = nil
	}
	k.lock.Unlock()
	if have != nil {
		return &recording{Decoder: have.reader(), ctx: ctx, path: path, closer: io.NopCloser(nil)}, nil
	}
	src, err := Open(ctx, path)
	if err != nil && keeps {
		k.forget(path)
	}
	if err != nil || !keeps || !slowToDecode(src.Format()) {
		return src, err
	}
	file, err := os.CreateTemp(k.Folder, "toneplumb-*.sound")
	if err != nil {
		return src, nil
	}
	os.Remove(file.Name()) // on systems where an open file cannot be removed, Close does it
	return &entryWriter{Source: src, cache: k, path: path, entry: &entry{file: file, format: src.Format()}}, nil
}

// keep stores an entry that is whole, unless the cache is closed.
func (k *Cache) keep(path string, e *entry) {
	k.lock.Lock()
	defer k.lock.Unlock()
	if k.closed {
		e.drop()
		return
	}
	k.entries[path] = e
}

// forget lets the next reading of a recording be kept.
func (k *Cache) forget(path string) {
	k.lock.Lock()
	defer k.lock.Unlock()
	delete(k.entries, path)
}

// Close removes the sound that is kept, and keeps no more. Sources that read from it can no longer be used.
func (k *Cache) Close() error {
	if k == nil {
		return nil
	}
	k.lock.Lock()
	defer k.lock.Unlock()
	for _, s := range k.entries {
		if s != nil {
			s.drop()
		}
	}
	clear(k.entries)
	k.closed = true
	return nil
}

func (s *entry) drop() {
	s.file.Close()
	os.Remove(s.file.Name())
}

// slowToDecode reports whether decoding a recording takes longer than reading decoded samples.
func slowToDecode(f Format) bool { return f.Container != "WAV" && f.Container != "AIFF" }

// entryWriter is a source whose sound is written to the cache while it is read.
type entryWriter struct {
	Source
	cache *Cache
	path  string
	entry *entry // nil once it has been handed to the cache or given up
	buf   []byte
}

func (s *entryWriter) Read(dst [][]float64) (int, error) {
	n, err := s.Source.Read(dst)
	switch {
	case s.entry == nil:
	case err == io.EOF:
		s.entry.warns = s.Warnings()
		s.cache.keep(s.path, s.entry)
		s.entry = nil
	case err != nil:
		s.stopped()
	case !s.append(dst, n):
		s.giveUp()
	}
	return n, err
}

// append writes n frames, and reports whether they can be read back unchanged.
func (s *entryWriter) append(block [][]float64, n int) bool {
	frame := sampleLen * len(block)
	if s.entry.bytes += int64(n * frame); s.entry.bytes > entryMax {
		return false
	}
	s.buf = slices.Grow(s.buf[:0], n*frame)[:n*frame]
	for ch, x := range block {
		if !packFloat32s(s.buf[ch*sampleLen:], frame, x[:n]) {
			return false
		}
	}
	_, err := s.entry.file.Write(s.buf)
	return err == nil
}

// giveUp drops the entry of a recording that cannot be kept.
func (s *entryWriter) giveUp() {
	s.entry.drop()
	s.entry = nil
}

// stopped gives up an entry that was not written to its end; the next reading may be kept.
func (s *entryWriter) stopped() {
	s.giveUp()
	s.cache.forget(s.path)
}

func (s *entryWriter) Close() error {
	if s.entry != nil {
		s.stopped()
	}
	return s.Source.Close()
}

// entryReader decodes an entry. Several can read independently.
type entryReader struct {
	*pcm.Source
	entry *entry
}

func (s *entry) reader() *entryReader {
	return &entryReader{pcm.NewFloats(io.NewSectionReader(s.file, 0, s.bytes), s.format.RateHz, s.format.Channels, -1), s}
}

func (s *entryReader) Format() Format     { return s.entry.format }
func (s *entryReader) Warnings() []Remark { return s.entry.warns }

const sampleLen = 4

// packFloat32s writes the values of x to dst as 32-bit floats, stride bytes apart, and reports whether they hold the
// values exactly.
func packFloat32s(dst []byte, stride int, x []float64) bool {
	same := true
	for i, v := range x {
		word := float32(v)
		same = same && float64(word) == v
		binary.LittleEndian.PutUint32(dst[i*stride:], math.Float32bits(word))
	}
	return same
}
