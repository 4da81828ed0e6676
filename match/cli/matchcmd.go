package cli

import (
	"context"
	"io"
	"slices"

	"github.com/spf13/cobra"

	"toneplumb/match"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// matchOptions is everything `match` can be told.
type matchOptions struct {
	mix        string
	references []string
	equaliser  string
	already    string // settings of an earlier round
	lead       string // a single track of the mix
	withSound  bool   // the reference's sound goes into the page too
	watch      bool   // again with every new bounce of the mix
	parts      partOptions
	output     outputOptions
	compare    match.CompareOptions
	solve      match.SolveOptions
	stage      stageOptions
}

func newMatch() *cobra.Command {
	var smooth, span string
	o := matchOptions{compare: match.DefaultCompare(), solve: match.DefaultSolve()}
	cmd := &cobra.Command{
		Use:   "match MIX REFERENCE [REFERENCE...]",
		Short: "the moves that take the mix's tone to the reference's",
		Long: `Measures the mix and the reference, prints the moves for one equaliser on the
master bus, and writes a chart or settings where asked to. A profile stands for
the recordings it was made from.`,
		Example: `  toneplumb match rough-mix.wav reference.flac -o chart.png -o settings.json
  toneplumb match rough-mix.wav one.mp3 two.mp3 --toward 100 --moves 3
  toneplumb match finished-mix.wav one.mp3 two.mp3 three.mp3 --stage finished
  toneplumb match rough-mix.wav reference.flac --as-measured
  toneplumb match rough-mix.wav reference.flac -o handout.pdf --plain
  toneplumb match rough-mix.wav house.json --mix-part 0:45-1:30 --loudest 60
  toneplumb match rough-mix.wav reference.flac -o page.html --with-reference-sound
  toneplumb match second-bounce.wav reference.flac --already settings.json
  toneplumb match bounce.wav reference.flac -o chart.png --watch`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) < 2 {
				return fail("toneplumb match MIX REFERENCE", "a mix and at least one reference are needed, %d given", len(args))
			}
			o.mix, o.references = args[0], args[1:]
			if err := o.parse(smooth, span); err != nil {
				return err
			}
			return runMatch(cmd.Context(), o, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := cmd.Flags()
	o.output.addPages(cmd)
	f.IntVar(&o.solve.MaxMoves, "moves", o.solve.MaxMoves, "at most `N` moves")
	f.Var(&number{&o.solve.TowardPercent, readPercent}, "toward", "go `PERCENT` of the way to the reference")
	o.stage.add(cmd, match.Rough)
	addCompare(cmd, &smooth, &span)
	f.StringVar(&o.equaliser, "eq", "", eqUsage)
	o.parts.add(cmd)
	f.StringVar(&o.already, "already", "", "the mix already runs through the moves of settings `FILE` (.json):\nprint what replaces them")
	f.StringVar(&o.lead, "lead", "", "say how far the moves bring out the voice, a single track `FILE` of the same song\nwith the same start")
	f.BoolVar(&o.withSound, "with-reference-sound", false, "put the reference's sound into the page too, half a minute of it; it stays\nits makers' work, so mind whom you give the page to")
	f.BoolVar(&o.watch, "watch", false, "measure again whenever a new bounce of the mix is complete, until Ctrl-C; --already\nis read anew each time, and may be an output")
	return cmd
}

// parse fills in the options that are written as text and checks all.
func (o *matchOptions) parse(smooth, span string) error {
	var err error
	if o.compare, err = parseCompare(smooth, span); err != nil {
		return err
	}
	if o.solve.Stage, err = o.stage.parse(); err != nil {
		return err
	}
	if err := o.solve.Check(); err != nil {
		return fail("see toneplumb match --help", "%s", err)
	}
	if o.withSound && !o.output.hasPage() {
		return fail("add -o page.html", "--with-reference-sound is for a page, and none is to be written")
	}
	if o.watch && o.output.json {
		return fail("add -o settings.json", "--json prints one document, and --watch prints many")
	}
	return o.parts.parse()
}

// mixAgain tells whether the mix's sound is needed once it is measured.
func (o *matchOptions) mixAgain() bool {
	return len(o.output.files) > 0 || o.output.json || o.lead != ""
}

// readAgain returns the recordings whose sound is needed once they are measured.
func (o *matchOptions) readAgain() (paths []string) {
	if o.mixAgain() {
		paths = append(paths, o.mix)
	}
	if o.withSound {
		paths = append(paths, o.references...)
	}
	return paths
}

func runMatch(ctx context.Context, o matchOptions, stdout, stderr io.Writer) error {
	recordings := append([]string{o.mix}, o.references...)
	taken := append(slices.Clone(recordings), o.equaliser, o.lead)
	if !o.watch { // which takes what one round advised into the next
		taken = append(taken, o.already)
	}
	outputs, err := o.output.plan(ctx, taken)
	if err != nil {
		return err
	}
	if err := useEqualiser(o.equaliser, &o.solve); err != nil {
		return err
	}
	if o.watch {
		return runWatch(ctx, o, outputs, usualPace, stdout, stderr)
	}
	before, err := readEarlier(o.already, o.output.plain)
	if err != nil {
		return err
	}
	keeper := audio.NewKeeper(o.readAgain()...)
	defer keeper.Close()
	inputs, err := readThrough(ctx, keeper.Open, recordings, stderr)
	if err != nil {
		return err
	}
	result, err := o.round(ctx, keeper.Open, inputs[0], asReferences(inputs[1:]), before, len(outputs) > 0 || o.output.json, stderr)
	if err != nil {
		return err
	}
	return outputs.deliver(ctx, result, o.output, stdout)
}

// round matches one bounce; kept tells that its result is.
func (o *matchOptions) round(ctx context.Context, open opener, in input, all []*measure.Recording, before *match.Earlier, kept bool, stderr io.Writer) (*match.Result, error) {
	mix, err := in.asMix()
	if err != nil {
		return nil, err
	}
	names := &match.Naming{Plain: o.output.plain}
	mix, all = names.Mix(mix), names.References(all)
	if mix, err = before.TakenBack(mix); err != nil {
		return nil, err
	}
	mix, references, notes, err := o.parts.apply(mix, all)
	if err != nil {
		return nil, err
	}
	result, err := interruptible(ctx, func() (*match.Result, error) {
		comparison, err := match.Compare(mix, references, o.compare)
		if err != nil {
			return nil, err
		}
		r := comparison.Solve(o.solve)
		r.SetOther()
		r.SetSides()
		r.Warnings = slices.Concat(before.Note(comparison, o.solve), notes, r.Warnings)
		return r, nil
	})
	if err != nil {
		return nil, err
	}
	// Only what is kept is worth a second reading; a profile has no sound, and a bounce
	// that ran through earlier moves is not what these moves are for.
	if len(result.Moves) > 0 && kept && before == nil && !in.profile {
		if err := confirm(ctx, open, o.mix, result, stderr); err != nil {
			return nil, err
		}
	}
	if o.lead != "" && len(result.Moves) > 0 {
		if result.Lead, err = leadOf(ctx, open, *o, before, result, stderr); err != nil {
			return nil, err
		}
	}
	if o.output.hasPage() {
		if o.output.sound, err = soundOf(ctx, open, *o, before, result, stderr); err != nil {
			return nil, err
		}
	}
	return result, nil
}
