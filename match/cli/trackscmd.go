package cli

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"toneplumb/match"
	"toneplumb/match/artefact"
	"toneplumb/match/cli/internal/files"
	"toneplumb/match/cli/internal/flags"
	"toneplumb/match/cli/internal/terminal"
	"toneplumb/match/job"
	"toneplumb/match/report"
	"toneplumb/match/tracks"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

type tracksCommand struct {
	flags.Job
	output         flags.Output
	mix, reference string
	tracks         []string
	front, back    []string
	groups         []string
	sum            bool // the mix is the tracks' sum
}

func newTracks() *cobra.Command {
	o := tracksCommand{Job: flags.UsualJob()}
	cmd := &cobra.Command{
		Use:   "tracks MIX REFERENCE TRACK...",
		Short: "faders and filters of single tracks, and which tracks hide each other",
		Long: `Reads the single tracks together with the mix. With a right mix of the same song
as reference it plans the fewest faders, widths and filters that take the mix to it.
With another song it says of each move whether it belongs on the master or on one
track. It also says which tracks hold the same zone at the same time.

Bounce the tracks from the mix's start, behind their faders and pans, at the mix's
rate. With --sum the sum of the tracks is the mix, before any bounce.`,
		Example: `  toneplumb tracks rough-mix.wav reference.flac stems/*.wav
  toneplumb tracks rough-mix.wav reference.flac bass.wav voice.wav keys.wav --front voice
  toneplumb tracks rough-mix.wav reference.flac stems/*.wav -o tracks.png --json
  toneplumb tracks rough-mix.wav right-mix.wav stems/*.wav -o with-the-plan.wav
  toneplumb tracks --sum reference.flac stems/*.wav
  toneplumb tracks rough-mix.wav right-mix.wav stems/*.wav --group drums=kick,snare,hats
  toneplumb tracks rough-mix.wav right-mix.wav stems/*/*.wav --group drums=stems/drums/`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if o.sum {
				if len(args) < 2 {
					return fail(finding.FilesNeeded, "toneplumb tracks --sum REFERENCE TRACK...", "a reference and at least one track are needed, %d given", len(args))
				}
				args = append([]string{tracks.SumName}, args...)
			}
			if len(args) < 3 {
				return fail(finding.FilesNeeded, "toneplumb tracks MIX REFERENCE TRACK..., or --sum before there is a mix", "a mix, a reference and at least one track are needed, %d given", len(args))
			}
			o.mix, o.reference, o.tracks = args[0], args[1], args[2:]
			if err := o.parse(cmd); err != nil {
				return err
			}
			return o.run(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := cmd.Flags()
	f.StringArrayVar(&o.front, "front", nil, "track `NAME` should be in front; may be given more than once")
	f.StringArrayVar(&o.back, "back", nil, "track `NAME` should be behind; may be given more than once")
	f.StringArrayVar(&o.groups, "group", nil, "tracks with one fader and one equaliser, as `NAME=TRACK,TRACK`, or\nNAME=FOLDER/ for all that lie in it; may be given more than once")
	o.output.AddFiles(cmd, "a chart .png, .svg or .pdf, a page .html, a document .json,\na table .csv, text .txt, the mix with the plan .wav")
	f.BoolVar(&o.sum, "sum", false, "there is no mix yet: the sum of the tracks is taken for it")
	o.AddPlain(cmd)
	o.AddAdvice(cmd, match.Rough)
	o.AddJudged(cmd)
	o.AddPrevious(cmd, "the tracks are compared with the mix as it was before them")
	return cmd
}

func (o *tracksCommand) parse(cmd *cobra.Command) error {
	if err := o.Job.Parse(cmd); err != nil {
		return err
	}
	inputs := append([]string{o.reference, o.Equaliser, o.Already}, o.tracks...)
	if !o.sum {
		inputs = append(inputs, o.mix)
	}
	return flags.CheckPaths(o.output.Files, inputs, append(artefact.Tracks.Extensions(), soundEnd), o.output.Replace)
}

func (o *tracksCommand) run(ctx context.Context, stdout, stderr io.Writer) error {
	placing, err := o.placing()
	if err != nil {
		return err
	}
	if err := o.Read(); err != nil {
		return err
	}
	cache := audio.NewCache(o.mix) // it is read with every group of tracks and every move
	defer cache.Close()
	var open job.Opener = cache.Open
	if o.sum {
		open = job.OpenSum(open, o.tracks)
	}
	reader, end := terminal.Reader(open, stderr)
	defer end()
	q := job.TracksRequest{Options: o.Options, Tracks: o.tracks, Placing: placing}
	if q.Mix, q.References, err = o.sides(ctx, reader); err != nil {
		return err
	}
	outcome, err := reader.Tracks(ctx, q)
	if err != nil {
		return err
	}
	end()
	isSound := func(path string) bool { return files.Extension(path) == soundEnd }
	all := o.output.Files
	o.output.Files = slices.DeleteFunc(slices.Clone(all), isSound)
	if err := flags.Deliver(ctx, &o.output, artefact.Tracks, outcome, stdout); err != nil {
		return err
	}
	for _, path := range all {
		if !isSound(path) {
			continue
		}
		if !outcome.PlanReplacesMoves() {
			return fail(finding.NoPlan, "see what was found; a plan needs another mix of the same song as reference, and something to change", "%q is not written: there is no plan to render", path)
		}
		if err := writePlanned(ctx, outcome, path, o.output.Replace); err != nil {
			return err
		}
		if !o.output.JSON {
			fmt.Fprintf(stdout, "wrote %s\n", report.Printable(path))
		}
	}
	return nil
}

// writePlanned writes the mix with the plan to a WAV file.
func writePlanned(ctx context.Context, found *job.TracksOutcome, path string, replace bool) error {
	out, err := found.RenderPlan(ctx, path)
	if err != nil {
		return err
	}
	return files.Put(ctx, replace, nil, out.Sound)
}

const soundEnd = ".wav" // the extension of the mix with the plan

// sides measures the mix, or the tracks' sum, and the reference.
func (o *tracksCommand) sides(ctx context.Context, reader job.Reader) (mix *measure.Recording, references []*measure.Recording, err error) {
	if o.sum {
		sides, err := reader.ReadAll(ctx, o.reference)
		if err != nil {
			return nil, nil, err
		}
		mix, err := reader.Measure(ctx, tracks.SumName)
		return mix, job.References(sides...), err
	}
	sides, err := reader.ReadAll(ctx, o.mix, o.reference)
	if err != nil {
		return nil, nil, err
	}
	if sides[0].IsProfile {
		return nil, nil, fail(finding.IsProfile, "give the mix's recording", "%q is a profile, and single tracks are read beside the sound of the mix", o.mix)
	}
	mix, err = sides[0].Mix()
	return mix, job.References(sides[1:]...), err
}

// placing finds the tracks named with --front, --back and --group.
func (o *tracksCommand) placing() (placing tracks.Options, err error) {
	placing.Plain = o.Plain
	if placing.Front, err = o.numbersOf("--front", o.front...); err != nil {
		return placing, err
	}
	if placing.Back, err = o.numbersOf("--back", o.back...); err != nil {
		return placing, err
	}
	for _, i := range placing.Front {
		if slices.Contains(placing.Back, i) {
			return placing, fail(finding.OptionsClash, "name it once", "%q is to stand in front and behind", o.tracks[i])
		}
	}
	for _, text := range o.groups {
		name, members, ok := strings.Cut(text, "=")
		if !ok || name == "" || members == "" {
			return placing, fail(finding.WrongOption, "write --group drums=kick,snare", "--group %q is not NAME=TRACK,TRACK", text)
		}
		numbers, err := o.numbersOf("--group", strings.Split(members, ",")...)
		if err != nil {
			return placing, err
		}
		at := slices.IndexFunc(placing.Groups, func(g tracks.Group) bool { return g.Name == name })
		if at < 0 {
			at = len(placing.Groups)
			placing.Groups = append(placing.Groups, tracks.Group{Name: name})
		}
		g := &placing.Groups[at]
		g.Tracks = slices.Compact(slices.Sorted(slices.Values(append(g.Tracks, numbers...))))
	}
	return placing, nil
}

// numbersOf returns the tracks that each of these names means, see named.
func (o *tracksCommand) numbersOf(option string, names ...string) (numbers []int, err error) {
	for _, name := range names {
		name, before := strings.TrimSpace(name), len(numbers)
		for i, path := range o.tracks {
			if named(path, name) {
				numbers = append(numbers, i)
			}
		}
		if len(numbers) == before {
			return nil, fail(finding.WrongOption, "name one of the tracks, by its file or without the extension, or a folder that holds some of them", "%s %q names none of the tracks", option, name)
		}
	}
	return numbers, nil
}

// named reports whether a name means a track: its path, its file name with or without the extension,
// a pattern of one of these, or a folder that it lies in.
func named(path, name string) bool {
	for _, of := range []string{path, filepath.Base(path), tracks.NameOf(path)} {
		if name == of || flags.Matches(name, of) {
			return true
		}
	}
	inside, err := filepath.Rel(name, path)
	return err == nil && name != "" && filepath.IsLocal(inside)
}
