package pcm

import (
	"encoding/binary"
	"fmt"
	"io"
	"math"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/finding"
)

// Depth is the sample format of a WAV file to write.
type Depth uint8

// Integer samples are rounded to the nearest step (full scale 1.0 = 2^(bits-1) steps) and clamped, without dither
// unless [Writer.Dither] was called.
const (
	PCM16 Depth = iota
	PCM24
	PCM32
	Float32
)

func (d Depth) bytes() int { return [...]int{PCM16: 2, PCM24: 3, PCM32: 4, Float32: 4}[d] }

// String returns the depth in words: "16-bit PCM", "32-bit float".
func (d Depth) String() string {
	return [...]string{PCM16: "16-bit PCM", PCM24: "24-bit PCM", PCM32: "32-bit PCM", Float32: "32-bit float"}[d]
}

// maxWAVLen is the length in bytes of the largest WAV file, given by its 32-bit RIFF size. Our choice: the first eight
// bytes, which that does not count, are counted too.
const maxWAVLen = math.MaxUint32

// File is where a [Writer] writes. After Commit it is complete at its path, after Abort it is gone. Finish, which comes
// before Commit, makes sure that the system has written the content.
type File interface {
	io.Writer
	io.WriterAt
	Finish() error
	Commit() error
	CommitNew() error // fails if a file is there by now
	TakeBack()        // undoes CommitNew
	Abort()
}

// Writer writes a WAV file block by block. Close puts it in place, Abort discards it. An existing file of that name is
// untouched until Close has succeeded. Its errors are of type [*codec.Error].
type Writer struct {
	path     string
	file     File
	channels int
	depth    Depth
	headLen  int
	dataLen  int64
	rateHz   int
	dither   *codec.Dither // nil: none
	long     bool          // RF64, see Expect
	buf      []byte
	err      error // first failure; Close then gives up
	closed   bool
}

// NewWriter starts a WAV file in f; path is used in errors only. Mono and stereo get a plain header, more channels an
// EXTENSIBLE one without speaker positions. The rate and the number of channels must pass [codec.CheckFormat].
func NewWriter(f File, path string, rateHz, channels int, depth Depth) (*Writer, error) {
	w := &Writer{path: path, file: f, channels: channels, depth: depth, rateHz: rateHz}
	head := w.header()
	w.headLen = len(head)
	if _, err := f.Write(head); err != nil {
		w.Abort()
		return nil, err
	}
	return w, nil
}

// Write appends a block [channel][frame], full scale ±1, all channels of one length; it panics on another number of
// channels. It returns an error for a value that is not a finite number, and for a file that would exceed 4 GiB without
// an announcement by [Writer.Expect]. After a failure Close fails too.
func (w *Writer) Write(block [][]float64) error {
	if len(block) != w.channels {
		panic(fmt.Sprintf("audio: Write needs %d channels, got %d", w.channels, len(block)))
	}
	if w.err != nil {
		return w.err
	}
	if w.closed {
		panic("pcm: Write after Close or Abort")
	}
	frames := len(block[0])
	need := int64(frames) * int64(w.channels*w.depth.bytes())
	if !w.long && int64(w.headLen)+w.dataLen+need+1 > maxWAVLen {
		return w.fail(&codec.Error{Kind: finding.TooLarge, Path: w.path, Problem: "would be longer than a WAV file can be (4 GiB)", Hint: "write a shorter part or a smaller depth"})
	}
	w.buf = w.buf[:0]
	for i := range frames {
		for _, ch := range block {
			if math.IsNaN(ch[i]) || math.IsInf(float64(float32(ch[i])), 0) {
				return w.fail(&codec.Error{Kind: finding.ProgramFault, Path: w.path, Problem: "cannot be written: the sound holds a value that is not a number", Hint: "please report this with the recordings used"})
			}
			w.buf = w.depth.append(w.buf, ch[i], w.dither.Next())
		}
	}
	if _, err := w.file.Write(w.buf); err != nil {
		return w.fail(err)
	}
	w.dataLen += need
	return nil
}

// append packs x. Integer depths add a dither of ditherSteps steps.
func (d Depth) append(b []byte, x, ditherSteps float64) []byte {
	switch d {
	case PCM16:
		return binary.LittleEndian.AppendUint16(b, uint16(codec.Steps(x, 16, ditherSteps)))
	case PCM24:
		v := codec.Steps(x, 24, ditherSteps)
		return append(b, byte(v), byte(v>>8), byte(v>>16))
	case PCM32:
		return binary.LittleEndian.AppendUint32(b, uint32(codec.Steps(x, 32, ditherSteps)))
	}
	return binary.LittleEndian.AppendUint32(b, math.Float32bits(float32(x)))
}

// Dither turns on dithering of integer samples, with independent noise for each sample. The noise depends on the seed
// alone, so the same sound gives the same bytes, however it is cut into blocks. Float samples are not dithered.
func (w *Writer) Dither(seed uint64) { w.dither = codec.NewDither(seed) }

// Finish completes the header and has the file finished. Close then only puts the file in place.
func (w *Writer) Finish() error {
	if w.closed || w.err != nil {
		return w.err
	}
	w.closed = true
	if w.dataLen%2 == 1 {
		if _, err := w.file.Write([]byte{0}); err != nil {
			return w.fail(err)
		}
	}
	if _, err := w.file.WriteAt(w.header(), 0); err != nil {
		return w.fail(err)
	}
	if err := w.file.Finish(); err != nil {
		return w.fail(err)
	}
	return nil
}

// Close finishes the file and puts it in place. On failure nothing is left behind.
func (w *Writer) Close() error { return w.close(w.file.Commit) }

// CloseNew is like Close, but fails if a file is there by now.
func (w *Writer) CloseNew() error { return w.close(w.file.CommitNew) }

// TakeBack removes the file again if CloseNew has put it in place.
func (w *Writer) TakeBack() { w.file.TakeBack() }

func (w *Writer) close(commit func() error) error {
	if err := w.Finish(); err != nil {
		w.Abort()
		return err
	}
	return commit()
}

// Abort removes the temporary file. After a successful Close or another Abort it does nothing, so it can be deferred.
func (w *Writer) Abort() {
	w.closed = true
	w.file.Abort()
}

func (w *Writer) fail(err error) error {
	w.err = err
	return err
}

// header returns all bytes before the samples: RIFF, fmt, for float samples fact, and the data chunk's head.
func (w *Writer) header() []byte {
	tag, fmtLen := uint16(tagPCM), fmtMinLen
	if w.depth == Float32 {
		tag, fmtLen = tagFloat, fmtMinLen+2
	}
	real := tag
	if w.channels > 2 {
		tag, fmtLen = tagExtensible, fmtMaxLen
	}
	width := w.depth.bytes()
	le := binary.LittleEndian
	fm := le.AppendUint16(nil, tag)
	fm = le.AppendUint16(fm, uint16(w.channels))
	fm = le.AppendUint32(fm, uint32(w.rateHz))
	fm = le.AppendUint32(fm, uint32(w.rateHz*w.channels*width))
	fm = le.AppendUint16(fm, uint16(w.channels*width))
	fm = le.AppendUint16(fm, uint16(8*width))
	if fmtLen > fmtMinLen {
		fm = le.AppendUint16(fm, uint16(fmtLen-fmtMinLen-2))
	}
	if fmtLen == fmtMaxLen {
		fm = le.AppendUint16(fm, uint16(8*width))
		fm = le.AppendUint32(fm, 0) // no speaker positions
		fm = le.AppendUint16(fm, real)
		fm = append(fm, subformatTail...)
	}
	frames := w.dataLen / int64(w.channels*width)
	body := []byte("WAVE")
	if w.long {
		body = append(body, w.ds64()...)
	}
	body = le.AppendUint32(append(body, "fmt "...), uint32(len(fm)))
	body = append(body, fm...)
	if w.depth == Float32 {
		body = append(body, "fact\x04\x00\x00\x00"...)
		body = le.AppendUint32(body, uint32(min(frames, math.MaxUint32)))
	}
	body = append(body, "data"...)
	if w.long {
		body = le.AppendUint32(body, math.MaxUint32) // the size is in ds64
		return append([]byte("RF64\xff\xff\xff\xff"), body...)
	}
	body = le.AppendUint32(body, uint32(w.dataLen))
	head := append([]byte("RIFF"), le.AppendUint32(nil, uint32(int64(len(body))+w.dataLen+w.dataLen%2))...)
	return append(head, body...)
}

// subformatTail is the rest of the EXTENSIBLE subformat identifier after the two bytes of its format tag (mmreg.h, from
// memory).
const subformatTail = "\x00\x00\x00\x00\x10\x00\x80\x00\x00\xAA\x00\x38\x9B\x71"

// Expect announces, before the first Write, the largest number of frames that will be written. A file that could then be
// longer than 4 GiB is written as RF64, whose sizes have 64 bits. Expect panics after a Write.
func (w *Writer) Expect(frames int64) error {
	if w.dataLen > 0 || w.closed {
		panic("pcm: Expect after Write")
	}
	if int64(w.headLen)+frames*int64(w.channels*w.depth.bytes())+1 <= maxWAVLen {
		return nil
	}
	w.long = true
	head, short := w.header(), w.headLen
	w.headLen = len(head)
	_, err := w.file.WriteAt(head[:short], 0)
	if err == nil {
		_, err = w.file.Write(head[short:])
	}
	if err != nil {
		return w.fail(err)
	}
	return nil
}

// ds64 returns the chunk with the size of the file, the size of the data and the number of frames in 64 bits. Source:
// EBU Tech 3306, ITU-R BS.2088, from memory.
func (w *Writer) ds64() []byte {
	const length = 28
	le := binary.LittleEndian
	chunk := le.AppendUint32([]byte("ds64"), length)
	chunk = le.AppendUint64(chunk, uint64(int64(w.headLen)-chunkHeaderLen+w.dataLen+w.dataLen%2))
	chunk = le.AppendUint64(chunk, uint64(w.dataLen))
	chunk = le.AppendUint64(chunk, uint64(w.dataLen/int64(w.channels*w.depth.bytes())))
	chunk = le.AppendUint32(chunk, 0) // no other long chunks
	return chunk
}
