package tool

import (
	"context"
	"os"
	"path/filepath"
	"strings"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/audio/pcm"
)

// afconvertSource reads a WAV file that afconvert has written into a temporary folder. Close removes the folder.
type afconvertSource struct {
	codec.Decoder
	about  codec.Format
	file   *os.File
	folder string
}

// openAfconvert converts a whole file, since afconvert seeks back to fill in sizes and so cannot write into a pipe.
func openAfconvert(ctx context.Context, afconvert, abs string, kind *codec.Error) (codec.Decoder, error) {
	folder, err := os.MkdirTemp("", "toneplumb-")
	if err != nil {
		return nil, err
	}
	s := &afconvertSource{folder: folder, about: afinfo(ctx, abs)}
	out := filepath.Join(folder, "sound.wav")
	if words, said, err := run(ctx, afconvert, "-f", "WAVE", "-d", "LEF32", abs, out); err != nil {
		s.Close()
		return nil, unread(kind, "afconvert", plainWords(words.String()+said.String(), abs))
	}
	if s.file, err = os.Open(out); err == nil {
		var info os.FileInfo
		if info, err = s.file.Stat(); err == nil {
			s.Decoder, err = pcm.OpenWAV(s.file, info.Size())
		}
	}
	if err != nil {
		s.Close()
		return nil, unread(kind, "afconvert", "")
	}
	return s, nil
}

// afinfo describes a file by the output of the program afinfo, which comes with afconvert. If that does not say, the
// encoding is assumed to be lossy.
func afinfo(ctx context.Context, abs string) codec.Format {
	f := codec.Format{Container: "file for afconvert", Encoding: "unknown coding", Lossy: true}
	out, _, err := run(ctx, "afinfo", abs)
	if err != nil {
		return f
	}
	for _, line := range strings.Split(out.String(), "\n") {
		name, value, _ := strings.Cut(line, ":")
		value = strings.TrimSpace(value)
		switch strings.TrimSpace(name) {
		case "File type ID":
			f.Container = strings.ToUpper(value)
		case "Data format": // such as "2 ch,  44100 Hz, alac (0x00000001) from 16-bit source"
			parts := strings.SplitN(value, ",", 4)
			if len(parts) < 3 {
				continue
			}
			coding, _, _ := strings.Cut(strings.TrimSpace(parts[2]), " ")
			f.Encoding = strings.ToUpper(coding)
			f.Lossy = coding != "lpcm" && coding != "alac" && coding != "flac"
		}
	}
	return f
}

func (s *afconvertSource) Format() codec.Format {
	f := s.Decoder.Format()
	f.Container, f.Encoding, f.Lossy = s.about.Container, s.about.Encoding, s.about.Lossy
	return f
}

// Close removes the converted file and its folder.
func (s *afconvertSource) Close() error {
	if s.file != nil {
		s.file.Close()
	}
	return os.RemoveAll(s.folder)
}
