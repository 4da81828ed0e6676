package audio

import (
	"context"
	"encoding/binary"
	"io"
	"math"
	"os"
	"slices"
	"sync"
)

// Keeper opens recordings, and keeps the decoded sound of those that are read more than once, so that each is decoded
// once. What is kept lies in a temporary file that only its owner may read and that has no name where the system
// allows that, so nothing of it is left however the program ends. Where it cannot be kept, for its length, for want
// of space, or since its samples do not fit, it is decoded again: the samples are the same, bit for bit.
//
// A nil Keeper keeps nothing. Goroutines may share a Keeper.
type Keeper struct {
	Folder string // of the temporary files; "" is the system's

	paths []string
	lock  sync.Mutex
	kept  map[string]*kept // by path: nil while it is being read, and where it could not be kept
}

// kept is the sound of one recording: a file of frames, each with a float of 32 bits for every channel. That holds what the
// decoders return: FLAC goes up to 24 bits, the lossy ones work in floats of 32.
type kept struct {
	file   *os.File
	format Format
	warns  []string
	bytes  int64
}

// keptMax bounds the temporary file of one recording. Our choice: 25 minutes of stereo.
const keptMax = 1 << 29

// NewKeeper returns a keeper of the recordings at these paths. Close it at the end.
func NewKeeper(paths ...string) *Keeper {
	return &Keeper{paths: paths, kept: map[string]*kept{}}
}

// Open is the function Open, but for what is kept. A recording is kept from the first time that it is read to its end.
func (k *Keeper) Open(ctx context.Context, path string) (Source, error) {
	if k == nil || !slices.Contains(k.paths, path) {
		return Open(ctx, path)
	}
	k.lock.Lock()
	have, begun := k.kept[path]
	k.kept[path] = have
	k.lock.Unlock()
	if have != nil {
		return &recording{Decoder: have.reader(), ctx: ctx, path: path, closer: io.NopCloser(nil)}, nil
	}
	src, err := Open(ctx, path)
	if err != nil || begun || !worthKeeping(src.Format()) {
		return src, err
	}
	file, err := os.CreateTemp(k.Folder, "toneplumb-*.sound")
	if err != nil {
		return src, nil
	}
	os.Remove(file.Name()) // where an open file cannot be removed, Close does it
	return &keeping{Source: src, keeper: k, path: path, kept: &kept{file: file, format: src.Format()}}, nil
}

// Close removes what is kept. Sources that read it can no longer be used.
func (k *Keeper) Close() error {
	if k == nil {
		return nil
	}
	k.lock.Lock()
	defer k.lock.Unlock()
	for _, s := range k.kept {
		if s != nil {
			s.drop()
		}
	}
	clear(k.kept)
	return nil
}

func (s *kept) drop() {
	s.file.Close()
	os.Remove(s.file.Name())
}

// worthKeeping tells whether it takes longer to decode a recording than to read its samples.
func worthKeeping(f Format) bool { return f.Container != "WAV" && f.Container != "AIFF" }

// keeping is a source that is kept while it is read.
type keeping struct {
	Source
	keeper *Keeper
	path   string
	kept   *kept // nil: no longer
	buf    []byte
}

func (s *keeping) Read(dst [][]float64) (int, error) {
	n, err := s.Source.Read(dst)
	switch {
	case s.kept == nil:
	case err == io.EOF:
		s.kept.warns = s.Warnings()
		s.keeper.lock.Lock()
		s.keeper.kept[s.path] = s.kept
		s.keeper.lock.Unlock()
		s.kept = nil
	case err != nil || !s.keep(dst, n):
		s.giveUp()
	}
	return n, err
}

// keep writes n frames, and tells whether they can be read back as they are.
func (s *keeping) keep(block [][]float64, n int) bool {
	frame := keptSampleLen * len(block)
	if s.kept.bytes += int64(n * frame); s.kept.bytes > keptMax {
		return false
	}
	s.buf = slices.Grow(s.buf[:0], n*frame)[:n*frame]
	for ch, x := range block {
		if !packFloat32s(s.buf[ch*keptSampleLen:], frame, x[:n]) {
			return false
		}
	}
	_, err := s.kept.file.Write(s.buf)
	return err == nil
}

func (s *keeping) giveUp() {
	if s.kept != nil {
		s.kept.drop()
		s.kept = nil
	}
}

func (s *keeping) Close() error {
	s.giveUp() // it was not read to its end
	return s.Source.Close()
}

// reader returns a decoder of its own of what is kept.
func (s *kept) reader() *keptSource {
	return &keptSource{kept: s, from: io.NewSectionReader(s.file, 0, s.bytes)}
}

type keptSource struct {
	*kept
	from *io.SectionReader
	buf  []byte
}

func (s *keptSource) Read(dst [][]float64) (int, error) {
	frame := keptSampleLen * len(dst)
	s.buf = slices.Grow(s.buf[:0], len(dst[0])*frame)[:len(dst[0])*frame]
	got, err := io.ReadFull(s.from, s.buf)
	if err == io.ErrUnexpectedEOF {
		err = io.EOF
	}
	n := got / frame
	for ch := range dst {
		unpackFloat32s(dst[ch][:n], s.buf[ch*keptSampleLen:], frame)
	}
	return n, err
}

func (s *keptSource) Format() Format     { return s.kept.format }
func (s *keptSource) Warnings() []string { return s.warns }

const keptSampleLen = 4

// packFloat32s writes each of x to every stride-th byte of dst on, and reports whether unpackFloat32s returns them as they are.
func packFloat32s(dst []byte, stride int, x []float64) bool {
	same := true
	for i, v := range x {
		word := float32(v)
		same = same && float64(word) == v
		binary.LittleEndian.PutUint32(dst[i*stride:], math.Float32bits(word))
	}
	return same
}

func unpackFloat32s(dst []float64, src []byte, stride int) {
	for i := range dst {
		dst[i] = float64(math.Float32frombits(binary.LittleEndian.Uint32(src[i*stride:])))
	}
}
