package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"toneplumb/match/cli/internal/files"
	"toneplumb/match/cli/internal/flags"
	"toneplumb/match/job"
	"toneplumb/match/probe"
	"toneplumb/match/probe/forms"
	"toneplumb/match/report"
	"toneplumb/spectrum/audio"
)

type eqreadOptions struct {
	inputs    []string
	outputs   []string
	dialled   string
	equaliser string
	settings  string
	json      bool
}

func newEqread() *cobra.Command {
	var o eqreadOptions
	cmd := &cobra.Command{
		Use:   "eqread PROBE PRINT...",
		Short: "learn an equaliser from printed probes, or check moves that were dialled",
		Long: `Reads the probe of eqtest and what became of it through your equaliser, says what
its dials stand for and how far it is from the Audio EQ Cookbook, and writes the
description that --eq takes.

With --settings it reads a mix before and after the equaliser instead, and says
for each move what was asked and what the music got.`,
		Example: `  toneplumb eqread probe.wav print-*.wav -o myeq.json
  toneplumb eqread mix.wav mix-through-eq.wav --settings settings.json -o got.png`,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.inputs = args
			if o.settings != "" {
				return runThrough(cmd.Context(), o, cmd.OutOrStdout())
			}
			return runEqread(cmd.Context(), o, cmd.OutOrStdout())
		},
	}
	f := cmd.Flags()
	f.StringArrayVarP(&o.outputs, "output", "o", nil, "write `FILE`: the description .json; with --settings a chart .png or .svg,\nthe numbers .json")
	f.StringVar(&o.dialled, "dialled", "", "what was dialled, a table in `FILE` (.csv) as eqtest writes it;\nthe list of eqtest if not given")
	f.StringVar(&o.equaliser, "eq", "", "take frequencies, gains and counts from the description in `FILE` (.json)")
	f.StringVar(&o.settings, "settings", "", "compare a mix before and after with the moves in `FILE` (.json)")
	f.BoolVar(&o.json, "json", false, "print one JSON document instead of text")
	return cmd
}

// maxPrintFrames bounds what is read of a print: a minute at 192 kHz, and more than
// the probe and its surroundings need.
const maxPrintFrames = 60 * 192000

func runEqread(ctx context.Context, o eqreadOptions, stdout io.Writer) error {
	if len(o.inputs) < 2 {
		return fail("toneplumb eqread probe.wav print-*.wav -o myeq.json", "a probe and a print of it at least are needed, %d files given", len(o.inputs))
	}
	all := append([]string{o.dialled, o.equaliser}, o.inputs...)
	description := ""
	for _, path := range o.outputs {
		if strings.ToLower(filepath.Ext(path)) != ".json" || description != "" {
			return fail("name one file that ends in .json", "output %q: only the description is written", path)
		}
		if err := flags.Writable(path, all); err != nil {
			return err
		}
		description = path
	}
	base, err := job.ReadEqualiser(o.equaliser)
	if err != nil {
		return err
	}
	prints, err := o.prints()
	if err != nil {
		return err
	}
	reader, err := readProbe(ctx, o.inputs[0])
	if err != nil {
		return err
	}
	var settings []*probe.Measured
	taken := map[int]string{}
	for _, path := range o.inputs[1:] {
		p, err := printOf(path, prints)
		if err != nil {
			return err
		}
		if other := taken[p.Number]; other != "" {
			return fail("give one file for each print", "%q and %q are both print %d", other, path, p.Number)
		}
		taken[p.Number] = path
		sound, rateHz, err := readWhole(ctx, path)
		if err != nil {
			return err
		}
		got, err := reader.Read(sound, rateHz)
		if err != nil {
			return fail(printHint(err), "%q %s", path, err)
		}
		settings = append(settings, &probe.Measured{Setting: p, Response: got, File: report.Name(path)})
	}
	e, err := probe.Learn(settings)
	if err != nil {
		return fail("print all of them in one session, and one with a gain at least", "the prints cannot be compared: %s", err)
	}
	if description != "" {
		name := fmt.Sprintf("learnt from %d prints at %g kHz", len(settings), float64(e.RateHz)/1000)
		for _, note := range e.Notes() {
			name += "; " + note
		}
		err := files.Put(ctx, []files.File{{Path: description, Write: func(w io.Writer) error {
			if err := e.WriteDescription(w, name, base); err != nil {
				return fail("print a bell or a shelf as eqtest asks for it", "%s", err)
			}
			return nil
		}}})
		if err != nil {
			return err
		}
	}
	if o.json {
		return forms.JSON(stdout, e)
	}
	return forms.Text(stdout, e, description)
}

// prints is what was dialled, by number.
func (o eqreadOptions) prints() (map[int]probe.Setting, error) {
	list := probe.Plan()
	if o.dialled != "" {
		file, err := job.OpenText(o.dialled)
		if err != nil {
			return nil, err
		}
		defer file.Close()
		if list, err = probe.ReadPlan(file); err != nil {
			return nil, fail("eqtest -o prints.csv writes a table to start from", "%q: %s", o.dialled, err)
		}
	}
	by := map[int]probe.Setting{}
	for _, p := range list {
		by[p.Number] = p
	}
	return by, nil
}

func printOf(path string, prints map[int]probe.Setting) (probe.Setting, error) {
	n := probe.NumberOf(path)
	p, known := prints[n]
	switch {
	case n == 0:
		return p, fail("name it as eqtest says, print-3.wav", "%q: its name has no number, so its setting is not known", path)
	case !known:
		return p, fail("see the list of eqtest, or give your own with --dialled", "%q: there is no print %d in the list", path, n)
	}
	return p, nil
}

// printHint says what to do about a print that is refused.
func printHint(err error) string {
	switch {
	case errors.Is(err, probe.ErrClipped):
		return "turn the track or the equaliser's output down, the same for all prints, and print again"
	case errors.Is(err, probe.ErrDistorted):
		return "take limiter, compressor and saturation off, or turn the input down, and print again"
	case errors.Is(err, probe.ErrCutShort):
		return "print from the start of the probe to its end; a probe that played too fast or slow has another rate than the session"
	case errors.Is(err, probe.ErrSides):
		return "set both sides alike, or print in mono"
	}
	return "print the probe that eqtest wrote, at its own speed, with nothing else playing"
}

// readProbe makes sure that a file is a probe of eqtest.
func readProbe(ctx context.Context, path string) (*probe.Reader, error) {
	sound, rateHz, err := readWhole(ctx, path)
	if err != nil {
		return nil, err
	}
	want := probe.Probe{RateHz: rateHz}.Sound(rateHz)
	same := len(want) == len(sound[0])
	for i, v := range want {
		const step = 1.0 / (1 << 14) // two steps of 16 bits
		if !same || math.Abs(sound[0][i]-v) > step {
			return nil, fail("give the file that eqtest wrote first, then the prints", "%q is not the probe", path)
		}
	}
	return &probe.Reader{Probe: probe.Probe{RateHz: rateHz}}, nil
}

// readWhole reads a short recording.
func readWhole(ctx context.Context, path string) (sound [][]float64, rateHz int, err error) {
	src, err := audio.Open(ctx, path)
	if err != nil {
		return nil, 0, err
	}
	defer src.Close()
	block := audio.NewBlock(src.Format().Channels, 1<<14)
	sound = make([][]float64, len(block))
	for {
		n, err := src.Read(block)
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, 0, err
		}
		for c := range sound {
			sound[c] = append(sound[c], block[c][:n]...)
		}
		if len(sound[0]) > maxPrintFrames {
			return nil, 0, fail("print from the start of the probe to its end", "%q is much longer than the probe", path)
		}
	}
	if len(sound[0]) == 0 {
		return nil, 0, fail("print it again", "%q holds no sound", path)
	}
	return sound, src.Format().RateHz, nil
}
