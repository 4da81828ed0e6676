package audio

import (
	"context"
	"crypto/sha256"
	"fmt"
	"io"
	"iter"
	"math"
	"os"

	"toneplumb/spectrum/audio/codec"
)

// Format describes a recording.
type Format = codec.Format

// Remark is what the reader of a file has to say about it.
type Remark = codec.Remark

// Error says what is wrong with a file and what to do about it, in words for a user.
type Error = codec.Error

// Clock formats a time in seconds as m:ss or h:mm:ss, rounded down.
func Clock(sec float64) string { return codec.Clock(sec) }

// Quote puts text in quotation marks and escapes characters that cannot be printed. It does not escape backslashes,
// since paths on Windows are full of them.
func Quote(text string) string { return codec.Quote(text) }

// Source is an open recording that is read once from start to end.
type Source interface {
	Format() Format

	// Read fills up to len(dst[0]) frames of every channel, full scale ±1, and returns how many. dst must have
	// Format().Channels slices of one length above 0; Read panics otherwise. At the end it returns 0, io.EOF.
	// It never returns 0 with a nil error, and every sample is finite. It stops with the context's error when
	// the context given to Open is done.
	Read(dst [][]float64) (frames int, err error)

	// Warnings returns what the user should know about the recording. It is complete once Read has returned io.EOF.
	Warnings() []Remark

	Close() error
}

// NewBlock allocates a block of channels × frames samples for [Source.Read].
func NewBlock(channels, frames int) [][]float64 { return codec.NewBlock(channels, frames) }

// First returns the first frames of every channel of a block, whose memory it shares.
func First(block [][]float64, frames int) [][]float64 { return codec.First(block, frames) }

// Blocks reads src to its end in blocks [channel][frame], each valid until the next. An error, which is that of
// [Source.Read] or ctx's, is the last thing it gives.
func Blocks(ctx context.Context, src Source) iter.Seq2[[][]float64, error] {
	return func(yield func([][]float64, error) bool) {
		const frames = 1 << 14 // our choice
		block := NewBlock(src.Format().Channels, frames)
		for {
			n, err := src.Read(block)
			if err == nil {
				err = ctx.Err()
			}
			if err == io.EOF || !yield(First(block, n), err) || err != nil {
				return
			}
		}
	}
}

// recording is the Source around a decoder.
type recording struct {
	codec.Decoder
	ctx    context.Context
	path   string
	closer io.Closer
	err    error // sticky end
}

func (r *recording) Close() error { return r.closer.Close() }

func (r *recording) Read(dst [][]float64) (int, error) {
	if want := r.Format().Channels; len(dst) != want {
		panic(fmt.Sprintf("audio: Read needs %d channels, got %d", want, len(dst)))
	}
	for _, d := range dst {
		if len(d) == 0 || len(d) != len(dst[0]) {
			panic("audio: Read needs channels of one length above 0")
		}
	}
	if r.err != nil {
		return 0, r.err
	}
	if err := r.ctx.Err(); err != nil {
		return 0, err
	}
	n, err := r.Decoder.Read(dst)
	if err == nil {
		return n, nil
	}
	if ctxErr := r.ctx.Err(); ctxErr != nil {
		return 0, ctxErr // err may be any consequence of the stopped reading
	}
	if err != io.EOF {
		err = codec.WithPath(r.path, err)
	}
	r.err = err
	if n > 0 {
		return n, nil
	}
	return 0, err
}

// ReadFrames returns frames from … to−1 of the first channels of src, as [channel][frame], full scale ±1. It returns
// fewer frames if src ends sooner. src must not have been read before. The error is that of [Source.Read] or ctx's.
func ReadFrames(ctx context.Context, src Source, from, to int64, channels int) ([][]float64, error) {
	part := make([][]float64, channels)
	const expected = 1 << 21 // frames to allocate at once: half a minute at 48 kHz has 1.4 million; our choice
	for c := range part {
		part[c] = make([]float64, 0, min(max(to-from, 0), expected))
	}
	at := int64(0)
	for block, err := range Blocks(ctx, src) {
		if err != nil {
			return nil, err
		}
		n := int64(len(block[0]))
		if low, high := max(0, from-at), min(n, to-at); low < high {
			for c := range part {
				part[c] = append(part[c], block[c][low:high]...)
			}
		}
		if at += n; at >= to {
			break
		}
	}
	return part, nil
}

// SHA256 returns the SHA-256 of a file's bytes; the file can be of any kind. The error is an [*Error] or the context's.
func SHA256(ctx context.Context, path string) ([]byte, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, openError(path, err)
	}
	defer file.Close()
	sum := sha256.New()
	if _, err := io.Copy(sum, io.NewSectionReader(stoppable{file, ctx}, 0, math.MaxInt64)); err != nil {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		return nil, codec.WithPath(path, err)
	}
	return sum.Sum(nil), nil
}
