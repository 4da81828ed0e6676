package cli

import (
	"context"
	"errors"
	"io"
	"math"
	"slices"

	"github.com/spf13/cobra"

	"toneplumb/match/cli/internal/files"
	"toneplumb/match/cli/internal/flags"
	"toneplumb/match/cli/internal/terminal"
	"toneplumb/match/document"
	"toneplumb/match/job"
	"toneplumb/match/listen"
	"toneplumb/match/report"
	"toneplumb/match/tracks"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure/multitrack"
)

// renderOptions holds the arguments of `render`.
type renderOptions struct {
	hasMix        bool // false if only the impulse response is wanted
	mix, settings string
	tracks        []string // if settings is a document of tracks
	sum           bool     // the mix is the sum of the tracks
	reference     string   // written at the mix's loudness, instead of the mix through settings
	sound         string   // path for -o
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
as integers is written as 32-bit float, and the output says so.

With --impulse the moves and the trim are written as an impulse response for any
convolution plug-in; for that alone the mix may be left out. Settings called - are
read from the standard input.

With tracks after it the document is one that tracks has written with -o: the mix is
written with the steps of its plan. They are given in the order in which tracks had
them. With --sum their sum is the mix.

With --reference the reference is written instead, turned to the mix's loudness:
drop it into the recording program and switch between the two at the same level.`,
		Example: `  toneplumb render rough-mix.wav settings.json -o moved.wav
  toneplumb render rough-mix.wav --reference record.flac -o levelled.wav
  toneplumb render rough-mix.wav plan.json stems/*.wav -o balanced.wav
  toneplumb render settings.json --impulse moves.wav`,
		RunE: func(cmd *cobra.Command, args []string) error {
			switch {
			case o.reference != "":
				if len(args) != 1 || o.impulse != "" {
					return fail("toneplumb render MIX --reference RECORDING -o OUT.wav", "--reference goes with one mix and with -o, not with settings or --impulse")
				}
				o.hasMix, o.mix = true, args[0]
			case o.sum && len(args) >= 2:
				o.hasMix, o.mix, o.settings, o.tracks = true, tracks.SumName, args[0], args[1:]
			case o.sum && len(args) < 2:
				return fail("toneplumb render --sum PLAN TRACK... -o OUT.wav", "a plan and at least one track are needed, %d given", len(args))
			case len(args) > 2:
				o.hasMix, o.mix, o.settings, o.tracks = true, args[0], args[1], args[2:]
			case len(args) == 2:
				o.hasMix, o.mix, o.settings = true, args[0], args[1]
			case len(args) == 1 && o.sound == "":
				o.settings = args[0]
			default:
				return fail("toneplumb render MIX SETTINGS -o OUT.wav", "a mix and its settings are needed, %d given", len(args))
			}
			return runRender(cmd.Context(), o, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := cmd.Flags()
	f.StringVarP(&o.sound, "output", "o", "", "write the sound to `FILE` (.wav)")
	f.BoolVar(&o.sum, "sum", false, "there is no mix: the sum of the tracks of a plan is taken for it")
	f.StringVar(&o.reference, "reference", "", "write this `RECORDING`, turned to the mix's loudness")
	f.StringVar(&o.impulse, "impulse", "", "write the impulse response to `FILE` (.wav), mono, 32-bit float")
	f.StringVar(&o.depth, "depth", "", "write samples of this `DEPTH`: 16, 24 or 32f; the mix's own if not given")
	f.BoolVar(&o.json, "json", false, "print one JSON document instead of text")
	return cmd
}

func runRender(ctx context.Context, o renderOptions, stdout, stderr io.Writer) error {
	if err := o.check(); err != nil {
		return err
	}
	if o.reference != "" {
		return runReference(ctx, o, stdout, stderr)
	}
	if o.tracks != nil {
		return runPlan(ctx, o, stdout, stderr)
	}
	settings, err := job.ReadSettings(o.settings)
	if err != nil {
		return err
	}
	r := rendering{settings: settings, options: o}
	if o.sound != "" {
		r.keeper = audio.NewCache(o.mix)
		defer r.keeper.Close()
	}
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

// depths are the values of --depth.
var depths = map[string]audio.Depth{"16": audio.PCM16, "24": audio.PCM24, "32f": audio.Float32}

// check rejects outputs that cannot be written, before the long work.
func (o renderOptions) check() error {
	if o.sound == "" && o.impulse == "" {
		return fail("name a file with -o OUT.wav or --impulse OUT.wav", "nothing to write was named")
	}
	if _, known := depths[o.depth]; o.depth != "" && !known {
		return fail("use one of 16, 24 and 32f", "--depth %q is not known", o.depth)
	}
	missing := func(path string) bool { return path == "" }
	if o.tracks != nil && o.impulse != "" {
		return fail("name a file with -o OUT.wav alone", "a plan on several tracks is no impulse response")
	}
	inputs := append(slices.DeleteFunc([]string{o.settings, o.mix, o.reference}, missing), o.tracks...)
	named := slices.DeleteFunc([]string{o.sound, o.impulse}, missing)
	return flags.CheckPaths(named, inputs, []string{".wav"})
}

// rendering is the state and the result of a render.
type rendering struct {
	options  renderOptions
	settings *document.Settings

	listen.Plan // empty without a mix

	impulseRateHz int
	impulseFrames int64

	warnings []string          // about the file that was read
	keeper   *audio.Cache      // of the mix, which is read twice
	planned  multitrack.Opener // opens the mix with a plan; nil: the mix itself
}

// listen reads the mix once and decides from that how it is written.
func (r *rendering) listen(ctx context.Context, stderr io.Writer) error {
	src, shown, err := r.open(ctx, stderr)
	if err != nil {
		return err
	}
	defer shown.End()
	defer src.Close()
	var wanted *audio.Depth
	if depth, given := depths[r.options.depth]; given {
		wanted = &depth
	}
	plan, err := listen.NewPlan(ctx, src, r.settings, r.options.mix, wanted)
	if err != nil {
		return r.failed(err)
	}
	r.Plan = *plan
	r.warnings = src.Warnings()
	return nil
}

// open opens the mix and shows the progress of reading it.
func (r *rendering) open(ctx context.Context, stderr io.Writer) (audio.Source, *terminal.Progress, error) {
	open := r.keeper.Open
	if r.planned != nil {
		open = r.planned
	}
	src, err := open(ctx, r.options.mix)
	if err != nil {
		return nil, nil, err
	}
	shown := terminal.NewProgress(stderr)
	return shown.Watch(src, r.options.mix), shown, nil
}

// failed words an error of listen. Errors of files and of the context have words already.
func (r *rendering) failed(err error) error {
	var file *audio.Error
	var loud *listen.TooLoud
	if errors.As(err, &loud) {
		return fail("look at gain_db and trim_db", "%q lift the mix to %+.0f dBFS", r.options.settings, loud.PeakDBFS)
	}
	if errors.As(err, &file) || errors.Is(err, context.Canceled) {
		return err
	}
	return fail("convert the mix to a usual rate, such as 44.1 or 48 kHz, or change that move", "%q on %s: %s",
		r.options.settings, report.Name(r.options.mix), err)
}

// write writes the files and puts them in place, all or none.
func (r *rendering) write(ctx context.Context, stderr io.Writer) error {
	var writers []*audio.Writer
	defer func() {
		for _, w := range writers {
			w.Abort()
		}
	}()
	if r.options.sound != "" {
		w, err := r.Create(r.options.sound)
		if err != nil {
			return err
		}
		writers = append(writers, w)
		if err := r.writeSound(ctx, w, stderr); err != nil {
			return err
		}
	}
	if r.options.impulse != "" {
		r.impulseRateHz = int(math.Round(r.settings.RateHz))
		if r.options.hasMix {
			r.impulseRateHz = r.Format.RateHz
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
	return files.Put(ctx, nil, writers...)
}

// writeSound reads the mix a second time and writes it.
func (r *rendering) writeSound(ctx context.Context, w *audio.Writer, stderr io.Writer) error {
	src, shown, err := r.open(ctx, stderr)
	if err != nil {
		return err
	}
	defer shown.End()
	defer src.Close()
	if err := r.Write(ctx, src, r.options.mix, w); err != nil {
		return r.failed(err)
	}
	return nil
}
