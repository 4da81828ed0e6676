package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"slices"
	"time"

	"toneplumb/match/artefact"
	"toneplumb/match/cli/internal/files"
	"toneplumb/match/cli/internal/flags"
	"toneplumb/match/cli/internal/terminal"
	"toneplumb/match/job"
	"toneplumb/match/report"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// pollInterval is how often a bounce is checked, how long it must not change before it is measured,
// and after how long an unreadable one is tried again. A check reads only size and time, which also
// works on network drives, where changes are not reported.
//
// A bounce is measured if it stays unchanged for still plus two checks, and for the reading after
// that: it is first seen up to one check late, and a check that comes a moment too early finds it
// not yet still.
type pollInterval struct{ look, still, again time.Duration }

// usualInterval is our choice: programs write a bounce in steps of at most a second.
var usualInterval = pollInterval{250 * time.Millisecond, 3 * time.Second, 15 * time.Second}

// fileState identifies a state of a file; the zero value means that there is no file.
type fileState struct {
	size int64
	time time.Time
}

func stateOf(path string) fileState {
	info, err := os.Stat(path)
	if err != nil {
		return fileState{}
	}
	return fileState{info.Size(), info.ModTime()}
}

// watch is the state kept between rounds.
type watch struct {
	matchCommand
	poll    pollInterval
	look    func(path string) fileState
	others  []*measure.Recording // the references
	done    fileState            // the state that was measured or could not be
	retry   time.Time            // when to try that state again; zero: never
	said    string               // what the person was last told it waits for
	last    *measure.Recording
	history []bounced
	stdout  io.Writer
	stderr  io.Writer
}

// bounced is one round in the history.
type bounced struct {
	at               time.Time // modification time of the file
	distance, nearer float64   // in dB: of the bounce, and with the moves
}

// mostBounces is the number of bounces listed. Our choice.
const mostBounces = 8

// runWatch measures the mix whenever a bounce is complete, until the context is done, which is no
// error. If a bounce cannot be measured, it prints the reason and waits for the next one.
func runWatch(ctx context.Context, c matchCommand, p pollInterval, stdout, stderr io.Writer) error {
	reader, end := terminal.Reader(nil, stderr)
	defer end()
	inputs, err := reader.ReadAll(ctx, c.references...)
	if err != nil && ctx.Err() != nil {
		return nil
	}
	if err != nil {
		return err
	}
	end()
	w := &watch{matchCommand: c, poll: p, look: stateOf, others: job.References(inputs...), stdout: stdout, stderr: stderr}
	for {
		at, err := w.next(ctx)
		if err != nil {
			break
		}
		w.done, w.retry = at, time.Time{}
		err = w.round(ctx, at)
		switch {
		case ctx.Err() != nil:
		case errors.Is(err, errGrowing):
			w.say(err.Error())
		case err != nil:
			terminal.PrintError(stderr, err)
			w.said, w.retry = "", time.Now().Add(p.again)
		default:
			w.said = ""
		}
	}
	fmt.Fprintln(stderr, "\nwatching ended")
	return nil
}

// say prints what it waits for, once.
func (w *watch) say(what string) {
	if what != w.said {
		w.said = what
		fmt.Fprintf(w.stderr, "%s; Ctrl-C ends\n", what)
	}
}

// next waits until the file exists, differs from the one measured, and has stopped changing.
func (w *watch) next(ctx context.Context) (fileState, error) {
	name := report.Name(w.mix)
	var seen fileState
	var since time.Time
	ticks := time.NewTicker(w.poll.look)
	defer ticks.Stop()
	for {
		now, clock := w.look(w.mix), time.Now()
		if now != seen {
			seen, since = now, clock
		}
		switch {
		case now.size == 0: // no file, or nothing written yet
			w.say("waiting for " + name)
		case now == w.done && (w.retry.IsZero() || clock.Before(w.retry)):
			if w.said == "" {
				w.say("waiting for the next bounce of " + name)
			}
		case clock.Sub(since) >= w.poll.still:
			return now, nil
		}
		select {
		case <-ctx.Done():
			return fileState{}, ctx.Err()
		case <-ticks.C:
		}
	}
}

// errGrowing means that a bounce is not complete.
var errGrowing = errors.New("waiting for the rest of the bounce")

// mostMissingSec is how much shorter than announced in its header a recording may be. Our choice:
// encoders' own padding is shorter.
const mostMissingSec = 0.1

// round measures one bounce and writes its results.
func (w *watch) round(ctx context.Context, at fileState) error {
	c := w.matchCommand
	if _, err := os.Stat(c.Already); c.Already != "" && errors.Is(err, fs.ErrNotExist) && slices.ContainsFunc(c.output.Files, func(out string) bool { return files.SamePath(out, c.Already) }) {
		c.Already = "" // the first round will write it
	}
	if err := c.Read(); err != nil {
		return err
	}
	keeper := audio.NewCache(c.readAgain()...)
	defer keeper.Close()
	reader, end := terminal.Reader(keeper.Open, w.stderr)
	defer end()
	inputs, err := reader.ReadAll(ctx, c.mix)
	if w.look(c.mix) != at {
		return errGrowing
	}
	if err != nil {
		return err
	}
	mix, err := inputs[0].Mix()
	if err != nil {
		return err
	}
	if !whole(mix) {
		return fmt.Errorf("%w: %s of %s are there", errGrowing, audio.Clock(mix.DurationSec), audio.Clock(mix.Format.DurationSec()))
	}
	if w.last != nil && sameSound(w.last, mix) {
		fmt.Fprintf(w.stderr, "the same sound as before\n")
		return nil
	}
	outcome, err := reader.Match(ctx, c.request(inputs[0], w.others))
	if err != nil {
		return err
	}
	if w.look(c.mix) != at { // the second reading was of another bounce
		return errGrowing
	}
	end()
	if len(w.history) > 0 {
		fmt.Fprintln(w.stdout)
	}
	if err := flags.Deliver(ctx, &c.output, artefact.Match, outcome, w.stdout); err != nil {
		return err
	}
	w.output.Replace = true // what is there now is of this round; one that fails takes its new files back
	w.last = mix
	w.remember(at, outcome)
	return nil
}

// sameSound reports whether two bounces have the same measurements. Inverting one channel changes
// only the widths. Swapping the channels changes nothing in the result.
func sameSound(a, b *measure.Recording) bool {
	return slices.Equal(a.Power, b.Power) && slices.Equal(a.Width, b.Width) && slices.Equal(a.StepPower, b.StepPower)
}

// whole reports whether a recording is as long as its header announces.
func whole(r *measure.Recording) bool {
	announced := r.Format.DurationSec()
	return announced < 0 || r.DurationSec >= announced-mostMissingSec
}

// remember adds a round to the history and prints the last ones.
func (w *watch) remember(at fileState, r *job.MatchOutcome) {
	b := bounced{at: at.time, distance: r.DistanceBeforeDB, nearer: r.DistanceAfterDB}
	if r.Previous != nil {
		b.distance = r.Previous.DistanceDB(r.Comparison, r.SolveOptions)
	}
	w.history = append(w.history, b)
	first := max(0, len(w.history)-mostBounces)
	fmt.Fprintf(w.stdout, "\nbounce  of        distance  with the moves\n")
	for i, b := range w.history[first:] {
		change := ""
		if n := first + i; n > 0 {
			change = changeWords(b.distance - w.history[n-1].distance)
		}
		fmt.Fprintf(w.stdout, "%6d  %s  %5.2f dB  %5.2f dB%s\n", first+i+1, b.at.Format("15:04:05"), b.distance, b.nearer, change)
	}
}

// changeWords says which way a distance has changed. Our choice: a tenth of a decibel is inaudible.
func changeWords(db float64) string {
	switch {
	case math.Abs(db) < 0.1:
		return "  as before"
	case db < 0:
		return "  nearer"
	}
	return "  further off"
}
