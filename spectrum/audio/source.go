package audio

import (
	"context"
	"fmt"
	"io"
)

// Format describes a recording.
type Format struct {
	Container string // "WAV", "AIFF", "MP3", "FLAC", "Ogg"; through a converter also "MP4" and others
	Encoding  string // "16-bit PCM", "32-bit float", "MPEG-1 layer III", "Vorbis", "AAC"
	RateHz    int    // 1 to 768000
	Channels  int    // 1 to 64
	Bits      int    // integer word length that limits the floor, 4 to 32; 0 for float and for lossy codings
	Lossy     bool
	Frames    int64 // announced by the file, after trimming an encoder's delay and padding; -1 if unknown
}

// DurationSec returns the announced duration in seconds, or -1 if it is unknown.
func (f Format) DurationSec() float64 {
	if f.Frames < 0 {
		return -1
	}
	return float64(f.Frames) / float64(f.RateHz)
}

// Source is an open recording that is read once from start to end.
type Source interface {
	Format() Format

	// Read fills up to len(dst[0]) frames of every channel, full scale ±1, and returns how many. dst must have
	// Format().Channels slices of one length above 0; Read panics otherwise. At the end it returns 0, io.EOF.
	// It never returns 0 with a nil error, and every sample is finite. It stops with the context's error when
	// the context given to Open is done.
	Read(dst [][]float64) (frames int, err error)

	// Warnings returns what a person should know about the recording. It is complete once Read has returned io.EOF.
	Warnings() []string

	Close() error
}

// NewBlock allocates a block of channels × frames samples for Read.
func NewBlock(channels, frames int) [][]float64 {
	all := make([]float64, channels*frames)
	block := make([][]float64, channels)
	for ch := range block {
		block[ch] = all[ch*frames : (ch+1)*frames : (ch+1)*frames]
	}
	return block
}

// decoder is what each kind of file provides. read may return fewer frames than asked for, and 0 only with an error;
// it is not called again after one.
type decoder interface {
	format() Format
	read(dst [][]float64) (int, error)
	warnings() []string
}

// recording puts around a decoder what all kinds have in common.
type recording struct {
	decoder
	ctx    context.Context
	path   string
	closer io.Closer
	err    error // sticky end
}

func (r *recording) Format() Format     { return r.format() }
func (r *recording) Warnings() []string { return r.warnings() }
func (r *recording) Close() error       { return r.closer.Close() }

func (r *recording) Read(dst [][]float64) (int, error) {
	if want := r.format().Channels; len(dst) != want {
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
	n, err := r.read(dst)
	if err == nil {
		return n, nil
	}
	if ctxErr := r.ctx.Err(); ctxErr != nil {
		return 0, ctxErr // a reader that was stopped for it may have seen any error
	}
	if err != io.EOF {
		err = at(r.path, err)
	}
	r.err = err
	if n > 0 {
		return n, nil
	}
	return 0, err
}
