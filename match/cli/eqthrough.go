package cli

import (
	"context"
	"errors"
	"io"

	"toneplumb/match/artefact"
	"toneplumb/match/cli/internal/flags"
	"toneplumb/match/job"
	"toneplumb/match/probe"
	"toneplumb/match/probe/forms"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
)

// runThrough compares a mix before and after an equaliser.
func runThrough(ctx context.Context, o eqreadOptions, stdout io.Writer) error {
	switch {
	case len(o.inputs) != 2:
		return fail(finding.FilesNeeded, "toneplumb eqread MIX MIX-THROUGH-EQ --settings settings.json", "a mix before and after is needed, %d given", len(o.inputs))
	case o.dialled != "" || o.equaliser != "":
		return fail(finding.OptionsClash, "leave them out", "--dialled and --eq say nothing beside --settings")
	}
	if err := flags.CheckPaths(o.outputs, append([]string{o.settings}, o.inputs...), []string{".png", ".svg", ".json"}, o.replace); err != nil { // text is printed
		return err
	}
	settings, err := job.ReadSettings(o.settings, o.stdin)
	if err != nil {
		return err
	}
	open := func(path string) func() (audio.Source, error) {
		return func() (audio.Source, error) { return audio.Open(ctx, path) }
	}
	got, err := probe.NewTransferFunction(ctx, open(o.inputs[0]), open(o.inputs[1]), settings)
	if err != nil {
		var file *audio.Error
		if errors.As(err, &file) || errors.Is(err, context.Canceled) {
			return err
		}
		return fail(finding.KindOf(err, finding.OtherMusic), "bounce the same passage twice, at one rate, with nothing else changed: no compressor or limiter after the equaliser",
			"%q and %q %s", o.inputs[0], o.inputs[1], err)
	}
	output := &flags.Output{Files: o.outputs, Replace: o.replace, JSON: o.json}
	return flags.Deliver(ctx, output, artefact.Through, forms.Through{TransferFunction: got, Before: o.inputs[0], After: o.inputs[1]}, stdout)
}
