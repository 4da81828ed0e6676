package job

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"toneplumb/biquad/fit"
	"toneplumb/match/probe"
	"toneplumb/match/report"
	"toneplumb/match/words"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
)

// LearnRequest asks what an equaliser does, by prints of a probe through it.
type LearnRequest struct {
	Probe  probe.Probe
	Prints []string        // names of files, which hold the numbers of their settings
	Paths  []string        // where they lie; nil: at their names
	Plan   []probe.Setting // what was dialled
	Base   fit.Equaliser   // what the description takes frequencies, gains and counts from
	Done   func()          // called after each print; nil: nobody asks
}

// Learnt is an equaliser as its prints show it.
type Learnt struct {
	*probe.Equaliser
	base fit.Equaliser
}

// Name says what the equaliser was learnt from.
func (l *Learnt) Name() string {
	name := fmt.Sprintf("learnt from %d prints at %g kHz", len(l.Measured), float64(l.RateHz)/1000)
	return strings.Join(append([]string{name}, words.DialNotes(l.Equaliser)...), "; ")
}

// WriteDescription writes the description that --eq takes.
func (l *Learnt) WriteDescription(w io.Writer) error {
	if err := l.Equaliser.WriteDescription(w, l.Name(), l.base); err != nil {
		return Fail(finding.PrintUnusable, "print a bell or a shelf as the list of prints asks for it", "%s", err)
	}
	return nil
}

// Learn carries out a LearnRequest.
func Learn(ctx context.Context, q LearnRequest) (*Learnt, error) {
	by := map[int]probe.Setting{}
	for _, p := range q.Plan {
		by[p.Number] = p
	}
	reader := probe.Reader{Probe: q.Probe}
	var settings []*probe.Measured
	taken := map[int]string{}
	for i, name := range q.Prints {
		p, err := settingOf(name, by)
		if err != nil {
			return nil, err
		}
		if other := taken[p.Number]; other != "" {
			return nil, Fail(finding.PrintName, "give one file for each print", "%q and %q are both print %d", other, name, p.Number)
		}
		taken[p.Number] = name
		path := name
		if q.Paths != nil {
			path = q.Paths[i]
		}
		sound, rateHz, err := readWhole(ctx, path, name)
		if err != nil {
			return nil, err
		}
		got, err := reader.Read(sound, rateHz)
		if err != nil {
			return nil, Fail(finding.PrintUnusable, printHint(err), "%q %s", name, err)
		}
		settings = append(settings, &probe.Measured{Setting: p, Response: got, File: report.Name(name)})
		if q.Done != nil {
			q.Done()
		}
	}
	e, err := probe.Learn(settings)
	if err != nil {
		return nil, Fail(finding.PrintUnusable, "print all of them in one session, and one with a gain at least", "the prints cannot be compared: %s", err)
	}
	return &Learnt{e, q.Base}, nil
}

// settingOf is what was dialled for a print, by the number in its name.
func settingOf(name string, by map[int]probe.Setting) (probe.Setting, error) {
	n := probe.NumberOf(name)
	p, known := by[n]
	switch {
	case n == 0:
		return p, Fail(finding.PrintName, "name it as the list of prints does, print-3.wav", "%q: its name has no number, so its setting is not known", name)
	case !known:
		return p, Fail(finding.PrintName, "give it the number that it has in the list of prints", "%q: there is no print %d in the list", name, n)
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
	return "print the probe itself, at its own speed, with nothing else playing"
}

// ReadProbe makes sure that a file is a probe of eqtest.
func ReadProbe(ctx context.Context, path string) (probe.Probe, error) {
	sound, rateHz, err := readWhole(ctx, path, path)
	if err != nil {
		return probe.Probe{}, err
	}
	p := probe.Probe{RateHz: rateHz}
	want := p.Sound(rateHz)
	same := len(want) == len(sound[0])
	for i, v := range want {
		const step = 1.0 / (1 << 14) // two steps of 16 bits
		if !same || math.Abs(sound[0][i]-v) > step {
			return p, Fail(finding.OtherMusic, "give the probe first, then the prints", "%q is not the probe", path)
		}
	}
	return p, nil
}

// maxPrintFrames bounds what is read of a print: a minute at 192 kHz, and more than
// the probe and its surroundings need.
const maxPrintFrames = 60 * 192000

// readWhole reads a short recording: samples by channel, and the rate in Hz. Errors call it by name.
func readWhole(ctx context.Context, path, name string) (sound [][]float64, rateHz int, err error) {
	defer func() {
		var file *audio.Error
		if errors.As(err, &file) {
			file.Path = name
		}
	}()
	src, err := audio.Open(ctx, path)
	if err != nil {
		return nil, 0, err
	}
	defer src.Close()
	sound, err = audio.ReadFrames(ctx, src, 0, maxPrintFrames+1, src.Format().Channels)
	switch {
	case err != nil:
		return nil, 0, err
	case len(sound[0]) > maxPrintFrames:
		return nil, 0, Fail(finding.OtherMusic, "print from the start of the probe to its end", "%q is much longer than the probe", name)
	case len(sound[0]) == 0:
		return nil, 0, Fail(finding.NoSound, "print it again", "%q holds no sound", name)
	}
	return sound, src.Format().RateHz, nil
}
