package cli

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"toneplumb/match/cli/internal/files"
	"toneplumb/match/cli/internal/flags"
	"toneplumb/match/probe"
	"toneplumb/match/report"
	"toneplumb/match/words"
	"toneplumb/spectrum/finding"
)

type eqtestOptions struct {
	files   []string
	rate    int
	mono    bool
	replace bool
}

func newEqtest() *cobra.Command {
	var o eqtestOptions
	cmd := &cobra.Command{
		Use:   "eqtest",
		Short: "write a probe that shows what an equaliser really does",
		Long: fmt.Sprintf("Writes a probe of %g s", probe.ProbeSec) + `, a sine that sweeps through all frequencies between two
marks. It also lists the settings of your equaliser to print it through, one file
each. eqread reads those files.

` + flags.Wrapped(probe.ProbeCaution),
		Example: "  toneplumb eqtest -o probe.wav\n  toneplumb eqtest -o probe.wav -o prints.csv --rate 44100",
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return fail(finding.FilesNeeded, "toneplumb eqtest -o probe.wav", "no file is read, %d named", len(args))
			}
			return runEqtest(cmd.Context(), o, cmd.OutOrStdout())
		},
	}
	f := cmd.Flags()
	f.StringArrayVarP(&o.files, "output", "o", nil, "write the probe to `FILE` (.wav); also the list of prints as a\ntable (.csv) to change where your equaliser has no such setting")
	f.IntVar(&o.rate, "rate", 48000, "sample rate of your session in `HZ`")
	f.BoolVar(&o.mono, "mono", false, "one channel instead of two")
	flags.AddReplace(cmd, &o.replace)
	return cmd
}

func runEqtest(ctx context.Context, o eqtestOptions, stdout io.Writer) error {
	if o.rate < 32000 || o.rate > 192000 {
		return fail(finding.WrongOption, "give the rate of the session, 44100 or 48000 for most", "--rate %d is not between 32000 and 192000", o.rate)
	}
	if err := flags.CheckPaths(o.files, nil, []string{".wav", ".csv"}, o.replace); err != nil {
		return err
	}
	wav, table := "", ""
	for _, path := range o.files {
		to := map[string]*string{".wav": &wav, ".csv": &table}[files.Extension(path)]
		if *to != "" {
			return fail(finding.OutputTwice, "name each output once", "there are two outputs like %q", path)
		}
		*to = path
	}
	if wav == "" {
		return fail(finding.OutputNeeded, "toneplumb eqtest -o probe.wav", "no file for the probe was named")
	}
	x := probe.Probe{RateHz: o.rate}.Sound(o.rate)
	sound := [][]float64{x, x}
	if o.mono {
		sound = sound[:1]
	}
	var documents []files.File
	if table != "" {
		documents = append(documents, files.File{Path: table, Write: func(w io.Writer) error { return probe.WritePlan(w, probe.Plan()) }})
	}
	var staged files.Sounds
	defer staged.Abort()
	if err := staged.Stage(ctx, wav, o.rate, sound); err != nil {
		return err
	}
	if err := files.Put(ctx, o.replace, documents, staged...); err != nil {
		return err
	}
	t := &report.TextReport{}
	t.WriteString("Put the probe on a track of its own, at 0 dB, through your equaliser alone:\nno limiter, no compressor, no normalising. Print (bounce) it offline once for\neach line below, from its start to its end, and name the files as listed. Skip\na line your equaliser has no shape for. Every further line makes the\ndescription better.\n\n")
	for _, p := range probe.Plan() {
		fmt.Fprintf(t, "  %-13s %s\n", fmt.Sprintf("print-%d.wav", p.Number), printWords(p))
	}
	t.WriteString("\n")
	t.Paragraph("", "Set the width or slope dial to the number after width, whatever its unit. If a shelf has no such dial, leave it. If its dial is in dB per octave, set 3, and 2 for prints 8 and 11. If your equaliser cannot be set so, set the nearest it can. Then write the list with -o prints.csv, enter what you dialled, and give it to eqread with --dialled.")
	t.WriteString("\n")
	t.Paragraph("", probe.ProbeCaution)
	t.WriteString("\n")
	fmt.Fprintf(t, "then: toneplumb eqread %s print-*.wav -o myeq.json\n", report.Argument(wav)) // whole, to be copied
	flags.ReportWritten(t, wav, table)
	return t.WriteOut(stdout)
}

// printWords returns the setting to dial for a print.
func printWords(p probe.Setting) string {
	switch {
	case p.Flat:
		return "equaliser on, everything at 0 dB"
	case p.Shape.IsCut():
		return fmt.Sprintf("%-10s  %7s  %g dB per octave (any other slope will do)", words.Shape(p.Shape), words.FormatHz(p.FreqHz), p.SlopeDB)
	}
	return fmt.Sprintf("%-10s  %7s  %6s dB  width %g", words.Shape(p.Shape), words.FormatHz(p.FreqHz), words.FormatGain(p.GainDB), p.Width)
}
