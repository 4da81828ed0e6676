package tool

import (
	"bytes"
	"cmp"
	"context"
	"math"
	"os/exec"
	"strconv"
	"strings"
	"time"

	"toneplumb/spectrum/audio/codec"
)

// lossless are the lossless codecs other than plain samples, by ffmpeg's names.
var lossless = map[string]bool{
	"alac": true, "ape": true, "flac": true, "mlp": true, "ralf": true, "shorten": true, "tak": true, "truehd": true, "tta": true,
	"wavpack": true, "wmalossless": true, "mp4als": true, "dst": true, "dsd_lsbf": true, "dsd_msbf": true, "dsd_lsbf_planar": true, "dsd_msbf_planar": true,
}

// guessed are the formats without a file header, whose duration ffprobe guesses from the bit rate.
var guessed = map[string]bool{"aac": true, "ac3": true, "amr": true, "dts": true, "eac3": true, "mp3": true, "mpeg": true, "mpegts": true}

// about converts ffprobe's description to a format.
func (p probed) about() (codec.Format, error) {
	st := p.Streams[0]
	rateHz, _ := strconv.ParseInt(st.RateHz, 10, 64)
	if err := codec.CheckFormat(rateHz, st.Channels); err != nil {
		return codec.Format{}, err
	}
	f := codec.Format{Container: containerName(p.Format.Name), Encoding: codecName(st.Codec), RateHz: int(rateHz), Channels: st.Channels, Lossy: true, Frames: -1}
	plain := strings.HasPrefix(st.Codec, "pcm_") && st.Codec != "pcm_alaw" && st.Codec != "pcm_mulaw" && st.Codec != "pcm_vidc"
	if plain || lossless[st.Codec] {
		f.Lossy = false
		f.Bits, _ = strconv.Atoi(st.RawBits)
		if f.Bits == 0 {
			f.Bits = st.CodedBits
		}
		if strings.HasPrefix(st.SampleKind, "flt") || strings.HasPrefix(st.SampleKind, "dbl") || f.Bits < 4 || f.Bits > 32 {
			f.Bits = 0
		}
	}
	if sec, err := strconv.ParseFloat(st.Duration, 64); err == nil && sec > 0 && sec < 1e8 && !guessed[p.Format.Name] {
		f.Frames = int64(math.Round(sec * float64(rateHz)))
	}
	return f, nil
}

// containerNames are those that are not ffmpeg's in capitals.
var containerNames = map[string]string{"mov": "MP4", "asf": "Windows Media", "matroska": "Matroska", "ogg": "Ogg"}

func containerName(names string) string {
	first, _, _ := strings.Cut(names, ",")
	return cmp.Or(containerNames[first], strings.ToUpper(first))
}

func codecName(codec string) string {
	switch {
	case codec == "mp1" || codec == "mp2":
		return "MPEG layer " + map[string]string{"mp1": "I", "mp2": "II"}[codec]
	case strings.HasPrefix(codec, "wma"):
		return "Windows Media Audio"
	case strings.HasPrefix(codec, "pcm_"):
		return "PCM " + strings.TrimPrefix(codec, "pcm_")
	case codec == "vorbis" || codec == "opus" || codec == "speex":
		return strings.ToUpper(codec[:1]) + codec[1:]
	}
	return strings.ToUpper(codec)
}

// plainWords returns the first message in said, the error output of a program about the file abs, as one line without
// the path and the name of the program's component.
func plainWords(said, abs string) string {
	const longest = 160
	for _, line := range strings.Split(said, "\n") {
		line = strings.ReplaceAll(line, "file:"+abs+":", "")
		line = strings.ReplaceAll(line, "file:"+abs, "the file")
		line = strings.ReplaceAll(line, abs, "the file")
		for strings.HasPrefix(line, "[") {
			_, rest, ok := strings.Cut(line, "]")
			if !ok {
				break
			}
			line = strings.TrimSpace(rest)
		}
		line = strings.Map(func(c rune) rune {
			if c < ' ' || c == 0x7F || c == '\uFFFD' {
				return -1
			}
			return c
		}, line)
		line = strings.TrimRight(strings.TrimSpace(line), ".!")
		if line == "" {
			continue
		}
		if len(line) > longest {
			line = strings.ToValidUTF8(line[:longest], "") + "…"
		}
		if len(line) > 1 && line[1] >= 'a' && line[1] <= 'z' || strings.HasPrefix(line, "A ") {
			line = strings.ToLower(line[:1]) + line[1:]
		}
		return line
	}
	return ""
}

// run runs a program to its end and returns the start of what it writes to both of its outputs.
func run(ctx context.Context, name string, args ...string) (out, said limitedBuffer, err error) {
	cmd := exec.CommandContext(ctx, name, args...)
	cmd.WaitDelay = time.Second
	cmd.Stdout, cmd.Stderr = &out, &said
	err = cmd.Run()
	return out, said, err
}

// limitedBuffer keeps the first 64 KB of a program's output.
type limitedBuffer struct{ bytes.Buffer }

func (b *limitedBuffer) Write(p []byte) (int, error) {
	const most = 1 << 16
	if room := most - b.Len(); room > 0 {
		b.Buffer.Write(p[:min(room, len(p))])
	}
	return len(p), nil
}
