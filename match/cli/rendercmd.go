package cli

import (
	"context"
	"errors"
	"io"
	"math"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"toneplumb/match"
	"toneplumb/match/listen"
	"toneplumb/match/report"
	"toneplumb/spectrum/audio"
)

// renderOptions is everything `render` can be told.
type renderOptions struct {
	hasMix        bool // false where only the impulse response is wanted
	mix, settings string
	sound         string // -o
	impulse       string
	depth         string // "": the mix's own
	json          bool
}

func newRender() *cobra.Command {
	var o renderOptions
	cmd := &cobra.Command{
		Use:   "render MIX SETTINGS",
		Short: "the mix through the moves, at the loudness it had",
		Long: `Sends the mix through the moves and the trim of a settings document (.json), as
match writes it with -o or a person has changed it, and writes a WAV with the
mix's own rate, channels and depth. Integer samples are dithered. What would clip
as integers is written as 32-bit float, and said so.

With --impulse the moves and the trim are written as an impulse response for any
convolution plug-in; for that alone the mix may be left out.`,
		Example: `  toneplumb render rough-mix.wav settings.json -o moved.wav
  toneplumb render settings.json --impulse moves.wav`,
		RunE: func(cmd *cobra.Command, args []string) error {
			switch {
			case len(args) == 2:
				o.hasMix, o.mix, o.settings = true, args[0], args[1]
			case len(args) == 1 && o.sound == "":
				o.settings = args[0]
			default:
				return fail("toneplumb render MIX SETTINGS -o OUT.wav", "a mix and its settings are needed, %d files given", len(args))
			}
			return runRender(cmd.Context(), o, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := cmd.Flags()
	f.StringVarP(&o.sound, "output", "o", "", "write the sound to `FILE` (.wav)")
	f.StringVar(&o.impulse, "impulse", "", "write the impulse response to `FILE` (.wav), mono, 32-bit float")
	f.StringVar(&o.depth, "depth", "", "write samples of this `DEPTH`: 16, 24 or 32f; the mix's own if not given")
	f.BoolVar(&o.json, "json", false, "print one JSON document instead of text")
	return cmd
}

func runRender(ctx context.Context, o renderOptions, stdout, stderr io.Writer) error {
	if err := o.check(); err != nil {
		return err
	}
	settings, err := readSettings(o.settings)
	if err != nil {
		return err
	}
	r := rendering{settings: settings, options: o}
	if o.hasMix {
		if err := r.listen(ctx, stderr); err != nil {
			return err
		}
	}
	if err := r.write(ctx, stderr); err != nil {
		return err
	}
	if o.json {
		return r.writeJSON(stdout)
	}
	return r.writeText(stdout)
}

// depths by the words of --depth.
var depths = map[string]audio.Depth{"16": audio.PCM16, "24": audio.PCM24, "32f": audio.Float32}

// check refuses before the long work what cannot be written.
func (o renderOptions) check() error {
	if o.sound == "" && o.impulse == "" {
		return fail("name a file with -o OUT.wav or --impulse OUT.wav", "nothing to write was named")
	}
	if _, known := depths[o.depth]; o.depth != "" && !known {
		return fail("use one of 16, 24 and 32f", "--depth %q is not known", o.depth)
	}
	inputs := []string{o.settings}
	if o.hasMix {
		inputs = append(inputs, o.mix)
	}
	for _, path := range []string{o.sound, o.impulse} {
		if path == "" {
			continue
		}
		if strings.ToLower(filepath.Ext(path)) != ".wav" {
			return fail("end it in .wav", "output %q: only WAV is written", path)
		}
		if err := writable(path, inputs); err != nil {
			return err
		}
	}
	if o.impulse != "" && filepath.Clean(o.sound) == filepath.Clean(o.impulse) {
		return fail("name each output once", "output %q is named twice", o.impulse)
	}
	return nil
}

func readSettings(path string) (*match.Settings, error) {
	file, err := openText(path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	s, err := match.ReadSettings(file)
	if err != nil {
		return nil, fail("give the settings that match wrote with -o settings.json", "%q: %s", path, err)
	}
	return s, nil
}

// rendering is a render on its way, and what has come of it.
type rendering struct {
	options  renderOptions
	settings *match.Settings

	format   audio.Format // of the mix
	check    listen.Check
	depth    audio.Depth // of the sound that is written
	dithered bool
	wanted   audio.Depth // other than depth where that would have clipped

	impulseRateHz int
	impulseFrames int64

	warnings []string // about what was read
}

// loudestSample is the largest magnitude that is written: +120 dB over full scale,
// beyond which readers, ours among them, take samples for damage.
const loudestSample = 1e6

// listen goes through the mix once and decides from that how it is to be written.
func (r *rendering) listen(ctx context.Context, stderr io.Writer) error {
	src, shown, err := r.open(ctx, stderr)
	if err != nil {
		return err
	}
	defer shown.end()
	defer src.Close()
	r.format = src.Format()
	if r.check, err = listen.Render(ctx, src, r.settings, nil); err != nil {
		return r.failed(err)
	}
	r.warnings = src.Warnings()
	switch {
	case math.IsInf(r.check.LoudnessBeforeLUFS, -1):
		return &audio.Error{Path: r.options.mix, Problem: "is silent: no 400 ms of it are louder than −70 LUFS",
			Hint: "check that the right tracks were on when it was bounced"}
	case r.check.SamplePeak > loudestSample:
		return fail("look at gain_db and trim_db", "%q lift the mix to %+.0f dBFS", r.options.settings, ampDB(r.check.SamplePeak))
	}
	r.wanted = depthOf(r.format)
	if r.options.depth != "" {
		r.wanted = depths[r.options.depth]
	}
	r.depth = r.wanted
	if r.check.Clipped > 0 {
		r.depth = audio.Float32
	}
	r.dithered = r.depth != audio.Float32 && !r.untouched()
	return nil
}

// untouched tells that samples are written just as they were read, so that dither
// would only add noise.
func (r *rendering) untouched() bool {
	return len(r.settings.Moves) == 0 && r.settings.TrimDB == 0 && !r.format.Lossy && depthOf(r.format) <= r.depth
}

// depthOf is the depth that holds a recording; 24 bits for what lossy coding left.
func depthOf(f audio.Format) audio.Depth {
	switch {
	case f.Lossy:
		return audio.PCM24
	case f.Bits == 0:
		return audio.Float32
	case f.Bits <= 16:
		return audio.PCM16
	case f.Bits <= 24:
		return audio.PCM24
	}
	return audio.PCM32
}

// open opens the mix and shows how far its reading is.
func (r *rendering) open(ctx context.Context, stderr io.Writer) (audio.Source, *progress, error) {
	src, err := audio.Open(ctx, r.options.mix)
	if err != nil {
		return nil, nil, err
	}
	shown := newProgress(stderr)
	return shown.watch(src, r.options.mix), shown, nil
}

// failed words an error of listen: those of files and of the context have words.
func (r *rendering) failed(err error) error {
	var file *audio.Error
	if errors.As(err, &file) || errors.Is(err, context.Canceled) {
		return err
	}
	return fail("convert the mix to a usual rate, such as 44.1 or 48 kHz, or change that move", "%q on %s: %s",
		r.options.settings, report.Name(r.options.mix), err)
}

// write writes the files; both or none are put in place.
func (r *rendering) write(ctx context.Context, stderr io.Writer) error {
	var writers []*audio.Writer
	defer func() {
		for _, w := range writers {
			w.Abort()
		}
	}()
	if r.options.sound != "" {
		w, err := audio.CreateWAV(r.options.sound, r.format.RateHz, r.format.Channels, r.depth)
		if err != nil {
			return err
		}
		writers = append(writers, w)
		if err := w.Expect(r.check.Frames); err != nil {
			return err
		}
		if r.dithered {
			w.Dither(ditherSeed)
		}
		if err := r.writeSound(ctx, w, stderr); err != nil {
			return err
		}
	}
	if r.options.impulse != "" {
		r.impulseRateHz = int(math.Round(r.settings.RateHz))
		if r.options.hasMix {
			r.impulseRateHz = r.format.RateHz
		}
		w, err := audio.CreateWAV(r.options.impulse, r.impulseRateHz, 1, audio.Float32)
		if err != nil {
			return err
		}
		writers = append(writers, w)
		if r.impulseFrames, err = listen.Impulse(ctx, r.settings, float64(r.impulseRateHz), w.Write); err != nil {
			return r.failed(err)
		}
	}
	for _, w := range writers {
		if err := w.Close(); err != nil {
			return err
		}
	}
	return nil
}

// ditherSeed: any number will do; one makes the same mix give the same bytes.
const ditherSeed = 1

// writeSound goes through the mix a second time.
func (r *rendering) writeSound(ctx context.Context, w *audio.Writer, stderr io.Writer) error {
	src, shown, err := r.open(ctx, stderr)
	if err != nil {
		return err
	}
	defer shown.end()
	defer src.Close()
	changed := &audio.Error{Path: r.options.mix, Problem: "was changed while it was read", Hint: "wait until its bounce is finished and run it again"}
	if f := src.Format(); f != r.format {
		return changed
	}
	moved, err := listen.Through(src, r.settings)
	if err != nil {
		return r.failed(err)
	}
	block := audio.NewBlock(r.format.Channels, renderFrames)
	part := make([][]float64, r.format.Channels)
	frames := int64(0)
	for {
		n, err := moved.Read(block)
		if err == io.EOF {
			break
		}
		if err != nil {
			return err
		}
		for c := range part {
			part[c] = block[c][:n]
		}
		if err := w.Write(part); err != nil {
			return err
		}
		frames += int64(n)
	}
	if frames != r.check.Frames {
		return changed
	}
	return nil
}

const renderFrames = 1 << 13 // read at once

func ampDB(amplitude float64) float64 { return 20 * math.Log10(amplitude) }
