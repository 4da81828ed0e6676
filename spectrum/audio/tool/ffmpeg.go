// Package tool reads recordings through another program: ffmpeg, or afconvert, which is part of macOS.
//
// It imports codec and pcm; pcm reads the samples that the programs write.
package tool

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/audio/pcm"
	"toneplumb/spectrum/finding"
)

// Open opens a file through a converter, ffmpeg or else afconvert, which is part of macOS. err is the error with which
// the built-in decoders refused the file. If it rules out that another decoder can read it, or no converter is installed,
// Open returns err with the path added. The error is a [*codec.Error] or the context's.
func Open(ctx context.Context, path string, err error) (codec.Decoder, error) {
	var kind *codec.Error
	if !errors.As(err, &kind) || !kind.OtherDecoder() {
		return nil, codec.WithPath(path, err)
	}
	abs, absErr := filepath.Abs(path)
	if absErr != nil {
		return nil, codec.WithPath(path, err)
	}
	var d codec.Decoder
	ffmpeg, err1 := exec.LookPath("ffmpeg")
	ffprobe, err2 := exec.LookPath("ffprobe")
	afconvert, err3 := exec.LookPath("afconvert")
	switch {
	case err1 == nil && err2 == nil:
		d, err = openFFmpeg(ctx, ffmpeg, ffprobe, abs, kind)
	case err3 == nil:
		d, err = openAfconvert(ctx, afconvert, abs, kind)
	}
	switch {
	case ctx.Err() != nil:
		if d != nil {
			d.(io.Closer).Close()
		}
		return nil, ctx.Err()
	case err != nil:
		return nil, codec.WithPath(path, err)
	}
	return d, nil
}

// containers are the containers that ffmpeg is allowed to read: those that hold sound, and none that refer to other files
// or addresses. Names as in "ffmpeg -formats", version 5.1.
const containers = "aac,ac3,eac3,aiff,amr,ape,asf,ast,au,avi,caf,dsf,dts,dtshd,flac,flv,iff,matroska,mov,mp3,mp4,m4a,3gp,mpc,mpc8," +
	"mpeg,mpegts,nut,ogg,oma,rm,shn,tak,truehd,tta,voc,w64,wav,wsd,wv,xa,xwma"

// input returns the arguments for reading a file. The name is absolute and has the prefix "file:", so that a dash or a
// colon in it has no meaning. Nothing that the file refers to is opened.
func input(abs string) []string {
	return []string{"-v", "error", "-protocol_whitelist", "file", "-format_whitelist", containers, "-i", "file:" + abs}
}

// probeWaitMax is the longest that ffprobe may take. Our choice: on sound files it takes 0.1 s.
const probeWaitMax = 20 * time.Second

// probed is ffprobe's description of a file.
type probed struct {
	Streams []struct {
		Codec      string `json:"codec_name"`
		RateHz     string `json:"sample_rate"`
		Channels   int    `json:"channels"`
		RawBits    string `json:"bits_per_raw_sample"`
		CodedBits  int    `json:"bits_per_sample"`
		SampleKind string `json:"sample_fmt"`
		Duration   string `json:"duration"`
	} `json:"streams"`
	Format struct {
		Name  string `json:"format_name"`
		Score int    `json:"probe_score"`
	} `json:"format"`
}

// unread returns the error for a file that the tool did not read; said is the tool's own message, which may be empty.
func unread(kind *codec.Error, tool, said string) *codec.Error {
	what := strings.TrimSuffix(kind.Problem, ", which cannot be read without ffmpeg")
	if said != "" {
		said = ": " + said
	}
	if what == kind.Problem {
		return &codec.Error{Kind: kind.Kind, Problem: what, Hint: kind.Hint} // it may be no recording at all
	}
	return &codec.Error{Kind: finding.Damaged, Problem: what + " that " + tool + " cannot read" + said, Hint: codec.HintDamaged + ", or convert it to WAV or FLAC first"}
}

// askFFprobe returns ffprobe's description of the first stream with sound.
func askFFprobe(ctx context.Context, ffprobe, abs string, kind *codec.Error) (p probed, err error) {
	ctx, cancel := context.WithTimeout(ctx, probeWaitMax)
	defer cancel()
	args := append([]string{"-select_streams", "a:0", "-of", "json", "-show_entries",
		"stream=codec_name,sample_rate,channels,bits_per_raw_sample,bits_per_sample,sample_fmt,duration:format=format_name,probe_score"}, input(abs)...)
	out, said, err := run(ctx, ffprobe, args...)
	if err != nil {
		return p, unread(kind, "ffmpeg", plainWords(said.String(), abs))
	}
	if err := json.Unmarshal(out.Bytes(), &p); err != nil || len(p.Streams) == 0 {
		return p, unread(kind, "ffmpeg", "there is no sound in it")
	}
	// Our choice: a file whose kind is only a guess, as for random bytes, is not read. ffmpeg's scores go up to 100.
	const sure = 50
	if p.Format.Score < sure && !strings.Contains(kind.Problem, "without ffmpeg") {
		return p, unread(kind, "ffmpeg", "")
	}
	return p, nil
}

// source reads the samples that ffmpeg writes into a pipe.
type source struct {
	*pcm.Source
	about  codec.Format
	ctx    context.Context
	cancel context.CancelFunc
	cmd    *exec.Cmd
	said   limitedBuffer
	abs    string
	waited bool
	failed bool
}

// openFFmpeg asks ffprobe about a file and starts ffmpeg on it.
func openFFmpeg(ctx context.Context, ffmpeg, ffprobe, abs string, kind *codec.Error) (codec.Decoder, error) {
	p, err := askFFprobe(ctx, ffprobe, abs, kind)
	if err != nil {
		return nil, err
	}
	about, err := p.about()
	if err != nil {
		return nil, err
	}
	d, err := startFFmpeg(ctx, ffmpeg, abs, about)
	if err != nil {
		return nil, unread(kind, "ffmpeg", err.Error())
	}
	return d, nil
}

// OpenLibopus opens an Opus file, whose format is about, through ffmpeg with libopus. It returns nil if that fails, in
// particular if ffmpeg is not installed or was built without libopus.
func OpenLibopus(ctx context.Context, path string, about codec.Format) codec.Decoder {
	ffmpeg, err := exec.LookPath("ffmpeg")
	if err != nil {
		return nil
	}
	abs, err := filepath.Abs(path)
	if err != nil {
		return nil
	}
	// Without -request_sample_fmt libopus decodes to 16 bits.
	d, err := startFFmpeg(ctx, ffmpeg, abs, about, "-request_sample_fmt", "flt", "-c:a", "libopus")
	if err != nil {
		return nil
	}
	return d
}

// startFFmpeg starts ffmpeg on a file. ffmpeg writes 32-bit floats, which hold every 24-bit sample exactly, into a pipe.
// It stops when the context ends or the source is closed. The text of the error is ffmpeg's message, which may be empty.
func startFFmpeg(ctx context.Context, ffmpeg, abs string, about codec.Format, decoding ...string) (codec.Decoder, error) {
	s := &source{about: about, abs: abs}
	s.ctx, s.cancel = context.WithCancel(ctx)
	args := append(append([]string{"-nostdin"}, decoding...), input(abs)...)
	args = append(args, "-map", "0:a:0", "-ac", strconv.Itoa(about.Channels), "-ar", strconv.Itoa(about.RateHz), "-c:a", "pcm_f32le", "-f", "f32le", "pipe:1")
	s.cmd = exec.CommandContext(s.ctx, ffmpeg, args...)
	s.cmd.WaitDelay = time.Second
	s.cmd.Stderr = &s.said
	pipe, err := s.cmd.StdoutPipe()
	if err == nil {
		err = s.cmd.Start()
	}
	if err != nil {
		s.cancel()
		return nil, errors.New("")
	}
	s.Source = pcm.NewFloats(pipe, about.RateHz, about.Channels, about.Frames)
	// The first samples are read now, to refuse a file without sound.
	if err := s.Fill(); err != nil {
		s.cmd.Wait()
		s.waited = true
		s.cancel()
		words := plainWords(s.said.String(), abs)
		if words == "" {
			words = "there is no sound in it"
		}
		return nil, errors.New(words)
	}
	return s, nil
}

func (s *source) Format() codec.Format { return s.about }

func (s *source) Read(dst [][]float64) (int, error) {
	n, err := s.Source.Read(dst)
	if err != nil && !s.waited {
		s.waited = true
		s.failed = s.cmd.Wait() != nil || err != io.EOF
		if s.ctx.Err() != nil {
			return n, s.ctx.Err()
		}
		err = io.EOF
	}
	return n, err
}

// Close stops ffmpeg.
func (s *source) Close() error {
	s.cancel()
	if !s.waited {
		s.waited = true
		s.cmd.Wait()
	}
	return nil
}

func (s *source) Warnings() []codec.Remark {
	var w []codec.Remark
	if bad := s.Bad(); bad > 0 {
		w = append(w, codec.Remark{Kind: codec.BadSamples, Count: bad})
	}
	words := ""
	if s.waited { // until then ffmpeg may be writing
		words = plainWords(s.said.String(), s.abs)
	}
	switch {
	case s.failed:
		if words == "" {
			words = "no reason given"
		}
		stopped := codec.At(codec.FFmpegStopped, s.Done(), s.about.RateHz)
		stopped.Text = words
		w = append(w, stopped)
	case words != "":
		w = append(w, codec.Remark{Kind: codec.FFmpegComplains, Text: words})
	}
	// The duration in a header is often rounded. Our choice: sound that ends half a second early is incomplete.
	const slackSec = 0.5
	if s.Short(int64(slackSec * float64(s.about.RateHz))) {
		w = append(w, codec.StopsAt(s.Done(), s.about.Frames, s.about.RateHz))
	}
	return w
}
