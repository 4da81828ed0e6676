package cli

import (
	"context"
	"io"
	"slices"

	"github.com/spf13/cobra"

	"toneplumb/match"
	"toneplumb/match/artefact"
	"toneplumb/match/cli/internal/flags"
	"toneplumb/match/cli/internal/terminal"
	"toneplumb/match/job"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

type matchCommand struct {
	flags.Job
	output         flags.Output
	mix            string
	references     []string
	lead           string // a single track of the mix
	referenceSound bool   // put the reference's sound into the page
	watch          bool   // run again with every new bounce of the mix
}

func newMatch() *cobra.Command {
	c := matchCommand{Job: flags.UsualJob()}
	cmd := &cobra.Command{
		Use:   "match MIX REFERENCE [REFERENCE...]",
		Short: "the moves that take the mix's tone to the reference's",
		Long: `Measures the mix and the reference, prints the moves for one equaliser on the
master bus, and writes a chart or settings where asked to. A profile stands for
the recordings it was made from.

Moves are broad: shelves, and bells at least 0.7 octaves wide (Q 2 or less), unless
your own equaliser's description (--eq) has narrower ones.

Which result to take: --stage rough, the default, where several filters or one
of 5 dB or more may be amiss; --stage finished where less is. At the border,
about two filters of 5 dB, rough brings mixes nearer on average, and finished
makes fewer of them worse: when in doubt take finished. Take --as-measured only
where you want the reference's balance, arrangement and all.`,
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
				return fail(finding.FilesNeeded, "toneplumb match MIX REFERENCE", "a mix and at least one reference are needed, %d given", len(args))
			}
			c.mix, c.references = args[0], args[1:]
			if err := c.parse(cmd); err != nil {
				return err
			}
			return c.run(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	c.output.AddMatch(cmd)
	c.output.AddVariant(cmd)
	c.AddPlain(cmd)
	c.AddAdvice(cmd, match.Rough)
	c.AddJudged(cmd)
	c.AddPrevious(cmd, "print what replaces them")
	f := cmd.Flags()
	f.StringVar(&c.lead, "lead", "", "how far the moves bring out the voice; `FILE` is its single track, of the same\nsong with the same start")
	f.BoolVar(&c.referenceSound, "with-reference-sound", false, "put the reference's sound into the page too, half a minute of it; it stays\nits makers' work, so take care whom you give the page to")
	f.BoolVar(&c.watch, "watch", false, "measure again whenever a new bounce of the mix is complete, until Ctrl-C; --already\nis read anew each time, and may be an output\n(with --replace if that file is there at the start)")
	return cmd
}

func (c *matchCommand) parse(cmd *cobra.Command) error {
	if err := c.Job.Parse(cmd); err != nil {
		return err
	}
	switch {
	case c.referenceSound && !c.output.Has(".html"):
		return fail(finding.OptionsClash, "add -o page.html", "--with-reference-sound is for a page, and none is to be written")
	case c.watch && c.output.JSON:
		return fail(finding.OptionsClash, "add -o settings.json", "--json prints one document, and --watch prints many")
	case c.watch && c.Already == "-":
		return fail(finding.NoStream, "name a file", "--already is read anew each round, which the standard input cannot be")
	}
	inputs := append([]string{c.mix, c.Equaliser, c.lead}, c.references...)
	if !c.watch { // which takes what one round advised into the next
		inputs = append(inputs, c.Already)
	}
	if err := flags.CheckPaths(c.output.Files, inputs, artefact.Match.Extensions(), c.output.Replace); err != nil {
		return err
	}
	var err error
	if c.Variant, err = c.output.ParseVariant(); err != nil {
		return err
	}
	if c.Variant > 0 && (c.watch || c.lead != "") {
		return fail(finding.OptionsClash, "leave it out", "--watch and --lead are for the mix as it is, and --variant is another")
	}
	if !c.Plain {
		c.output.Drawn = append([]string{c.mix}, c.references...)
	}
	return c.output.Parse()
}

// kept reports whether the result is written to a file or read by a program, and so worth a second
// reading of the mix.
func (c *matchCommand) kept() bool { return len(c.output.Files) > 0 || c.output.JSON }

// readAgain returns the recordings whose sound is needed after they are measured.
func (c *matchCommand) readAgain() (paths []string) {
	if c.kept() || c.lead != "" {
		paths = append(paths, c.mix)
	}
	if c.referenceSound {
		paths = append(paths, c.references...)
	}
	return paths
}

// request returns the request for the moves of one bounce.
func (c *matchCommand) request(mix job.Input, references []*measure.Recording) job.MatchRequest {
	return job.MatchRequest{Options: c.Options, Mix: mix, References: references, Confirm: c.kept(), Lead: c.lead,
		Sound: c.output.Has(".html"), ReferenceSound: c.referenceSound}
}

func (c *matchCommand) run(ctx context.Context, stdout, stderr io.Writer) error {
	if c.watch {
		return runWatch(ctx, *c, usualInterval, stdout, stderr)
	}
	outcome, err := c.outcome(ctx, stderr)
	if err != nil {
		return err
	}
	return flags.Deliver(ctx, &c.output, artefact.Match, outcome, stdout)
}

// outcome reads the files and finds the moves.
func (c *matchCommand) outcome(ctx context.Context, stderr io.Writer) (*job.MatchOutcome, error) {
	if err := c.Read(); err != nil {
		return nil, err
	}
	cache := audio.NewCache(c.readAgain()...)
	defer cache.Close()
	reader, end := terminal.Reader(cache.Open, stderr)
	defer end()
	inputs, err := reader.ReadAll(ctx, slices.Concat([]string{c.mix}, c.references)...)
	if err != nil {
		return nil, err
	}
	return reader.Match(ctx, c.request(inputs[0], job.References(inputs[1:]...)))
}
