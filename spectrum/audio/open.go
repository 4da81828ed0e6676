// Package audio opens recordings and reads them in blocks, caches decoded sound, writes WAV, and writes files atomically.
//
// Most callers need only this:
//
//	src, err := audio.Open(ctx, path)
//	...
//	defer src.Close()
//	block := audio.NewBlock(src.Format().Channels, 16384)
//	for {
//		n, err := src.Read(block)
//		if err == io.EOF {
//			break
//		}
//		...use block[ch][:n]
//	}
//	for _, w := range src.Warnings() { ... }
//
// The kind of a file is decided by its content, never by its name. WAV (RIFF, RIFX, RF64, BW64), AIFF and AIFF-C, MP3 (MPEG-1,
// MPEG-2 and MPEG-2.5 layer III), FLAC, and Vorbis and Opus in Ogg are read here, without holding a whole file in
// memory. Other recordings (M4A, Windows Media, QuickTime, WavPack and so on) are read through ffmpeg or macOS's
// afconvert if one is installed. From damaged or cut-off files you get what decodes, with a warning that says how much
// is missing. Every sample returned is finite.
//
// Limits: FLAC is read up to 24 bits. Of several streams in an Ogg file only the first is read. Channels are returned in
// the order of the file; layout and down-mix are up to the caller.
//
// Each codec is a package below this one; package codec holds what they share.
//
// It imports the codecs and tool.
package audio

import (
	"bytes"
	"context"
	"errors"
	"io"
	"io/fs"
	"os"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/audio/flac"
	"toneplumb/spectrum/audio/mp3"
	"toneplumb/spectrum/audio/ogg"
	"toneplumb/spectrum/audio/pcm"
	"toneplumb/spectrum/audio/tool"
	"toneplumb/spectrum/finding"
)

// Open opens a recording, whose kind is decided by its content. The error is an [*Error] or the context's.
// Reading stops with the context's error when ctx is done.
func Open(ctx context.Context, path string) (Source, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	info, err := os.Stat(path)
	if err != nil {
		return nil, openError(path, err)
	}
	switch {
	case info.IsDir():
		return nil, &Error{Kind: finding.NotARecording, Path: path, Problem: "is a folder, not a recording", Hint: "name what is inside, one file or several as folder/*.wav"}
	case !info.Mode().IsRegular():
		return nil, &Error{Kind: finding.NotARecording, Path: path, Problem: "is not an ordinary file", Hint: "save the recording to a file first"}
	case info.Size() == 0:
		return nil, &Error{Kind: finding.NoSound, Path: path, Problem: "is empty", Hint: "export the recording again"}
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, openError(path, err)
	}
	d, err := openDecoder(stoppable{f, ctx}, info.Size())
	if err != nil {
		f.Close()
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if d, err = tool.Open(ctx, path, err); err != nil {
			return nil, err
		}
		return &recording{Decoder: d, ctx: ctx, path: path, closer: d.(io.Closer)}, nil
	}
	if opus, ok := d.(*ogg.Source); ok && opus.Speech() {
		if d := tool.OpenLibopus(ctx, path, opus.Format()); d != nil {
			f.Close()
			return &recording{Decoder: d, ctx: ctx, path: path, closer: d.(io.Closer)}, nil
		}
		if err := ctx.Err(); err != nil {
			f.Close()
			return nil, err
		}
	}
	return &recording{Decoder: d, ctx: ctx, path: path, closer: f}, nil
}

// stoppable is a file that can no longer be read when the context is done: a decoder may read far ahead, looking for
// the next frame it can use, before it returns any sound.
type stoppable struct {
	io.ReaderAt
	ctx context.Context
}

func (s stoppable) ReadAt(b []byte, pos int64) (int, error) {
	if err := s.ctx.Err(); err != nil {
		return 0, err
	}
	return s.ReaderAt.ReadAt(b, pos)
}

func openError(path string, err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		if path == "-" {
			return &Error{Kind: finding.NoStream, Path: path, Problem: "is no file, and a recording is not read from a stream", Hint: "save it to a file first", Err: err}
		}
		return &Error{Kind: finding.NotFound, Path: path, Problem: "does not exist", Hint: "check the name and the folder; put names with spaces in quotes", Err: err}
	case errors.Is(err, fs.ErrPermission):
		return &Error{Kind: finding.System, Path: path, Problem: "may not be read", Hint: "check the file's permissions", Err: err}
	}
	return &Error{Kind: finding.System, Path: path, Problem: "cannot be opened: " + codec.Cause(err), Hint: "check the name and the folder", Err: err}
}

// openDecoder recognises the kind of file and opens its decoder.
func openDecoder(r io.ReaderAt, size int64) (codec.Decoder, error) {
	head := make([]byte, min(sniffLen, size))
	if err := codec.ReadAt(r, head, 0); err != nil {
		return nil, err
	}
	if pcm.IsWAV(head) {
		return pcm.OpenWAV(r, size)
	}
	if pcm.IsAIFF(head) {
		return pcm.OpenAIFF(r, size)
	}
	start, tagged, err := codec.SkipID3v2(r, size)
	if err != nil {
		return nil, err
	}
	if tagged {
		head = make([]byte, min(sniffLen, size-start))
		if err := codec.ReadAt(r, head, start); err != nil {
			return nil, err
		}
	}
	if bytes.HasPrefix(head, []byte(flac.Mark)) {
		return flac.Open(r, start, size)
	}
	if bytes.HasPrefix(head, []byte(ogg.Mark)) {
		return ogg.Open(r, start, size)
	}
	if e := otherKind(head); e != nil {
		return nil, e
	}
	if d, err := mp3.Open(r, start, size, tagged); d != nil || err != nil {
		return d, err
	}
	if tagged {
		return nil, codec.Damaged("holds a title tag but no sound that can be read")
	}
	return nil, codec.NewError(finding.NotARecording, "is not a recording that can be read", nameRecording+"; "+codec.HintConvert).AllowTool()
}
