package pcm

import (
	"bytes"
	"io"
	"testing"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/internal/audiotest"
)

var opener audiotest.Opener = func(r io.ReaderAt, size int64) (codec.Decoder, error) {
	head := make([]byte, min(riffHeaderLen, size))
	if err := codec.ReadAt(r, head, 0); err != nil {
		return nil, err
	}
	switch {
	case IsAIFF(head):
		return OpenAIFF(r, size)
	case IsWAV(head):
		return OpenWAV(r, size)
	}
	return nil, codec.NewError(finding.NotARecording, "is no file of plain samples", codec.HintConvert)
}

// seeds are small files of every kind of plain samples.
func seeds() map[string][]byte {
	pcm, _ := packWords(testWords, 16, 2, false)
	wide, _ := packWords(testWords, 24, 4, false)
	floats, _ := packFloats(4)
	doubles, _ := packFloats(8)
	return map[string][]byte{
		"16 bit":      wavFile{tag: tagPCM, channels: 2, rateHz: 44100, bits: 16, data: pcm, dataSize: -1, order: "jlfdl"}.bytes(),
		"24 in 32":    wavFile{tag: tagPCM, extensible: true, channels: 3, rateHz: 44100, bits: 32, validBits: 24, data: wide, dataSize: -1}.bytes(),
		"float":       wavFile{tag: tagFloat, channels: 1, rateHz: 44100, bits: 32, data: floats, dataSize: 0xFFFFFFFF}.bytes(),
		"double":      wavFile{tag: tagFloat, channels: 1, rateHz: 44100, bits: 64, data: doubles, dataSize: 0}.bytes(),
		"RF64":        wavFile{riff: "RF64", tag: tagPCM, channels: 2, rateHz: 44100, bits: 16, data: pcm, dataSize: 0xFFFFFFFF, ds64: int64(len(pcm)), order: "fdh"}.bytes(),
		"RIFX":        bigEndianFile(testWords, 32),
		"AIFF":        aiffFile{channels: 2, bits: 16, data: pcm}.bytes(),
		"AIFC":        aiffFile{kind: "fl32", channels: 1, bits: 32, data: floats}.bytes(),
		"AIFC behind": aiffFile{kind: "sowt", channels: 2, bits: 16, data: pcm, order: "xsc", offset: 4}.bytes(),
	}
}

func TestDamagedFilesNeverPanic(t *testing.T) { opener.Damage(t, seeds()) }

func fuzz(f *testing.F, names ...string) {
	var files [][]byte
	for _, name := range names {
		files = append(files, seeds()[name])
	}
	opener.Fuzz(f, nil, files...)
}

func FuzzWAV(f *testing.F)  { fuzz(f, "16 bit", "24 in 32", "float", "double", "RF64", "RIFX") }
func FuzzAIFF(f *testing.F) { fuzz(f, "AIFF", "AIFC", "AIFC behind") }

func FuzzRIFFChunks(f *testing.F) {
	all := seeds()
	for _, name := range []string{"16 bit", "double", "RF64", "RIFX"} {
		f.Add(all[name])
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if !IsWAV(data) {
			return // never walked
		}
		size := int64(len(data))
		found, err := walkRIFF(bytes.NewReader(data), size)
		if err != nil {
			t.Fatal(err)
		}
		if len(found.format) > fmtMaxLen || found.hasData && (found.dataAt < 0 || found.dataLen < 1 || found.dataAt+found.dataLen > size) {
			t.Fatalf("%+v in %d bytes", found, size)
		}
	})
}

func FuzzAIFFChunks(f *testing.F) {
	all := seeds()
	for _, name := range []string{"AIFF", "AIFC", "AIFC behind"} {
		f.Add(all[name])
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if !IsAIFF(data) {
			return // never walked
		}
		size := int64(len(data))
		found, err := walkAIFF(bytes.NewReader(data), size)
		if err != nil {
			t.Fatal(err)
		}
		if len(found.common) > commMaxLen || found.hasSound && (found.soundAt < 0 || found.soundLen < 1 || found.soundAt+found.soundLen > size) {
			t.Fatalf("%+v in %d bytes", found, size)
		}
	})
}
