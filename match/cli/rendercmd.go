package cli

import (
	"cmp"
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
	"toneplumb/match/tracks/forms"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure/multitrack"
)

type renderOptions struct {
	hasMix        bool // false if only the impulse response is wanted
	mix, settings string
	tracks        []string // if settings is a document of tracks
	sum           bool     // the mix is the sum of the tracks
	reference     string   // written at the mix's loudness, instead of the mix through settings
	sound         string   // path for -o
	impulse       string
	depth         string // "": the mix's own
	replace, json bool
	stdin         io.Reader
}

func newRender() *cobra.Command {
	var o renderOptions
	cmd := &cobra.Command{
		Use:   "render MIX SETTINGS [TRACK...]",
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
			o.stdin = cmd.InOrStdin()
			switch {
			case o.reference != "":
				if len(args) != 1 || o.impulse != "" {
					return fail(finding.OptionsClash, "toneplumb render MIX --reference RECORDING -o OUT.wav", "--reference goes with one mix and with -o, not with settings or --impulse")
				}
				o.hasMix, o.mix = true, args[0]
			case o.sum && len(args) >= 2:
				o.hasMix, o.mix, o.settings, o.tracks = true, tracks.SumName, args[0], args[1:]
			case o.sum && len(args) < 2:
				return fail(finding.FilesNeeded, "toneplumb render --sum PLAN TRACK... -o OUT.wav", "a plan and at least one track are needed, %d given", len(args))
			case len(args) > 2:
				o.hasMix, o.mix, o.settings, o.tracks = true, args[0], args[1], args[2:]
			case len(args) == 2:
				o.hasMix, o.mix, o.settings = true, args[0], args[1]
			case len(args) == 1 && o.sound == "":
				o.settings = args[0]
			default:
				return fail(finding.FilesNeeded, "toneplumb render MIX SETTINGS -o OUT.wav", "a mix and its settings are needed, %d given", len(args))
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
	flags.AddReplace(cmd, &o.replace)
	f.BoolVar(&o.json, "json", false, "print one JSON document instead of text")
	return cmd
}

var depths = map[string]audio.Depth{"16": audio.PCM16, "24": audio.PCM24, "32f": audio.Float32}

// check rejects outputs that cannot be written, before the long work.
func (o renderOptions) check() error {
	if o.sound == "" && o.impulse == "" {
		return fail(finding.OutputNeeded, "name a file with -o OUT.wav or --impulse OUT.wav", "nothing to write was named")
	}
	if _, known := depths[o.depth]; o.depth != "" && !known {
		return fail(finding.WrongOption, "use one of 16, 24 and 32f", "--depth %q is not known", o.depth)
	}
	missing := func(path string) bool { return path == "" }
	if o.tracks != nil && o.impulse != "" {
		return fail(finding.OptionsClash, "name a file with -o OUT.wav alone", "a plan on several tracks is no impulse response")
	}
	inputs := append(slices.DeleteFunc([]string{o.settings, o.mix, o.reference}, missing), o.tracks...)
	named := slices.DeleteFunc([]string{o.sound, o.impulse}, missing)
	return flags.CheckPaths(named, inputs, []string{".wav"}, o.replace)
}

// source is the recording that is written.
func (o renderOptions) source() string { return cmp.Or(o.reference, o.mix) }

// rendering is the state and the result of a render.
type rendering struct {
	options       renderOptions
	settings      *document.Settings
	advice        *tracks.Advice // the plan, with its tracks and groups; nil: settings
	mixLUFS       float64        // with --reference, integrated
	mixHeardDB    float64        // by how much louder it is heard
	*job.Rendered                // nil without a mix

	impulseRateHz int
	impulseFrames int64
}

func runRender(ctx context.Context, o renderOptions, stdout, stderr io.Writer) error {
	if err := o.check(); err != nil {
		return err
	}
	var cache *audio.Cache
	if o.sound != "" { // the recording is read more than once
		cache = audio.NewCache(o.source())
		defer cache.Close()
	}
	reader, end := terminal.Reader(cache.Open, stderr)
	defer end()
	r := &rendering{options: o}
	var err error
	switch {
	case o.reference != "":
		err = r.level(ctx, reader)
	case o.tracks != nil:
		reader.Open, err = r.readPlan(cache.Open)
	default:
		r.settings, err = job.ReadSettings(o.settings, o.stdin)
	}
	if err != nil {
		return err
	}
	if err := r.write(ctx, reader); err != nil {
		return err
	}
	end()
	if o.json {
		return report.WriteJSON(stdout, r.document())
	}
	return r.writeText(stdout)
}

// level sets the gain that makes the reference as loud as the mix, as heard.
func (r *rendering) level(ctx context.Context, reader job.Reader) error {
	mix, err := reader.Render(ctx, r.options.mix, &document.Settings{}, "", nil)
	if err != nil {
		return r.failed(err)
	}
	reference, err := reader.Render(ctx, r.options.reference, &document.Settings{}, "", nil)
	if err != nil {
		return r.failed(err)
	}
	r.mixLUFS, r.mixHeardDB = mix.Check.LoudnessBeforeLUFS, loudness.HeardDB(mix.Format.Channels)
	r.settings = &document.Settings{RateHz: float64(reference.Format.RateHz), TrimDB: r.mixLUFS + r.mixHeardDB - reference.Check.LoudnessBeforeLUFS - loudness.HeardDB(reference.Format.Channels)}
	return nil
}

// readPlan reads the plan and returns what opens the mix with it.
func (r *rendering) readPlan(open job.Opener) (job.Opener, error) {
	o := r.options
	d, err := job.ReadDocument(o.settings, o.stdin, finding.PlanWrong, "give the document that tracks wrote with -o plan.json", forms.ReadPlan)
	if err != nil {
		return nil, err
	}
	r.settings = &document.Settings{RateHz: d.RateHz()}
	var late map[string]int
	if r.advice, late, err = d.Advice(o.mix, o.tracks); err != nil {
		return nil, fail(finding.PlanWrong, "give the mix and the tracks as tracks had them, in the same order, with --sum where it had that", "%q: %s", o.settings, err)
	}
	if o.sum {
		open = job.OpenSum(open, o.tracks)
	}
	planned := multitrack.Shifted(open, late)
	return func(ctx context.Context, _ string) (audio.Source, error) { return r.advice.Planned(ctx, planned) }, nil
}

// failed words an error of listen. Errors of files and of the context have words already.
func (r *rendering) failed(err error) error {
	var file *audio.Error
	var loud *listen.TooLoud
	if errors.As(err, &loud) {
		return fail(finding.DoesNotFit, "look at gain_db and trim_db", "%q lift the mix to %+.0f dBFS", r.options.settings, loud.PeakDBFS)
	}
	if errors.As(err, &file) || errors.Is(err, context.Canceled) {
		return err
	}
	return fail(finding.DoesNotFit, "convert the mix to a usual rate, such as 44.1 or 48 kHz, or change that move", "%q on %s: %s",
		r.options.settings, report.Name(r.options.source()), err)
}

// write writes the files and puts them in place, all or none.
func (r *rendering) write(ctx context.Context, reader job.Reader) (err error) {
	o := r.options
	var sounds files.Sounds
	defer sounds.Abort()
	if o.hasMix {
		var wanted *audio.Depth
		if depth, given := depths[o.depth]; given {
			wanted = &depth
		}
		if r.Rendered, err = reader.Render(ctx, o.source(), r.settings, o.sound, wanted); err != nil {
			return r.failed(err)
		}
		if r.Sound != nil {
			sounds = append(sounds, r.Sound)
		}
		if r.advice != nil && r.Format.RateHz != int(r.settings.RateHz) {
			return fail(finding.RatesDiffer, "run tracks on these files", "%q was written for %g kHz, and the mix has %g", o.settings, r.settings.RateHz/1000, float64(r.Format.RateHz)/1000)
		}
	}
	if o.impulse != "" {
		r.impulseRateHz = int(math.Round(r.settings.RateHz))
		if o.hasMix {
			r.impulseRateHz = r.Format.RateHz
		}
		w, err := audio.CreateWAV(o.impulse, r.impulseRateHz, 1, audio.Float32)
		if err != nil {
			return err
		}
		sounds = append(sounds, w)
		if r.impulseFrames, err = listen.Impulse(ctx, r.settings, float64(r.impulseRateHz), w.Write); err != nil {
			return r.failed(err)
		}
	}
	return files.Put(ctx, o.replace, nil, sounds...)
}
