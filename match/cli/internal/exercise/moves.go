package exercise

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"

	"toneplumb/biquad"
	"toneplumb/match/cli/internal/files"
	"toneplumb/match/cli/internal/terminal"
	"toneplumb/match/job"
	"toneplumb/match/report"
	"toneplumb/match/training"
	"toneplumb/match/words"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
)

const movesFile = "moves.txt" // the text beside the sounds of moves

// runMoves writes what each move of some settings does: an excerpt before and after it, the moves
// added one after another as they are dialled, all equally loud.
func (o exerciseOptions) runMoves(ctx context.Context, stdout, stderr io.Writer) error {
	if len(o.inputs) != 1 || len(o.outputs) != 1 {
		return job.Fail(finding.FilesNeeded, "toneplumb exercise MIX --moves settings.json -o FOLDER", "one mix and one folder are needed, %d and %d given", len(o.inputs), len(o.outputs))
	}
	folder := filepath.Clean(o.outputs[0])
	if end := files.Extension(folder); end == ".html" || end == ".pdf" {
		return job.Fail(finding.UnknownExtension, "name a folder", "--moves writes sounds, and output %q is none of them", o.outputs[0])
	}
	if err := files.CheckEmpty(folder, "name a folder that is not there yet"); err != nil {
		return err
	}
	settings, err := job.ReadSettings(o.moves, o.stdin)
	if err != nil {
		return err
	}
	if len(settings.Moves) == 0 {
		return job.Fail(finding.SettingsWrong, "give settings with a move", "%q has no moves to be heard", o.moves)
	}
	part, err := o.passage()
	if err != nil {
		return err
	}
	reader, end := terminal.Reader(nil, stderr)
	e, err := reader.Excerpt(ctx, o.inputs[0], part)
	end()
	if err != nil {
		return o.unfit(err)
	}
	for i, f := range settings.Moves {
		if err := f.Check(float64(e.RateHz)); err != nil {
			return job.Fail(finding.DoesNotFit, "change that move, or convert the mix", "move %d cannot be heard at %d Hz: %s", i+1, e.RateHz, err)
		}
	}
	d := movesJSON{Version: 1, Mix: o.called(), Folder: report.Name(folder),
		FromSec: report.Number(e.FromSec), Sec: report.Number(e.Sec()), Moves: []movePair{}}
	for i, f := range settings.Moves {
		d.Moves = append(d.Moves, pairOf(i+1, f))
	}
	if err := d.write(ctx, folder, e, settings.Moves); err != nil {
		return o.failed(err, exercise{Answers: &training.Answers{}})
	}
	if o.json {
		return report.WriteJSON(stdout, d)
	}
	t := &report.TextReport{}
	t.File("mix", d.Mix, fmt.Sprintf("from %s, %.0f s", audio.Clock(e.FromSec), e.Sec()))
	t.WriteString("\n" + d.text())
	fmt.Fprintf(t, "wrote %s: %s, %s\n", report.Printable(folder), words.Count(2*len(d.Moves), "sound"), movesFile)
	return t.WriteOut(stdout)
}

// movesJSON lists what was written; names are without folders.
type movesJSON struct {
	Version  int           `json:"version"`
	Mix      string        `json:"mix"`
	Folder   string        `json:"folder"`
	FromSec  report.Number `json:"from_s"`
	Sec      report.Number `json:"duration_s"`
	LoudLUFS report.Number `json:"loudness_lufs"`
	Moves    []movePair    `json:"moves"`
}

// movePair is a move with the files of its sounds.
type movePair struct {
	Number int    `json:"number"`
	Does   string `json:"does"` // "cut 3 kHz"
	Is     string `json:"is"`   // "bell 3 kHz −2.0 dB Q 1"
	Before string `json:"before"`
	After  string `json:"after"`
}

func pairOf(number int, f biquad.Filter) movePair {
	p := movePair{Number: number, Does: doing(f), Is: words.Answer(f)}
	name := fmt.Sprintf("move-%d-%s-", number, strings.ReplaceAll(p.Does, " ", "-"))
	p.Before, p.After = name+"before.wav", name+"after.wav"
	return p
}

// doing returns what a move does in a few words: "cut 3 kHz", "boost below 106 Hz".
func doing(f biquad.Filter) string {
	does := "boost"
	if f.GainDB < 0 || f.Shape.IsCut() {
		does = "cut"
	}
	switch f.Shape {
	case biquad.LowShelf, biquad.LowCut:
		does += " below"
	case biquad.HighShelf, biquad.HighCut:
		does += " above"
	}
	return does + " " + words.FormatHz(f.FreqHz)
}

// write writes all of it or nothing, and sets LoudLUFS.
func (d *movesJSON) write(ctx context.Context, folder string, e *training.Excerpt, moves []biquad.Filter) error {
	unmake, err := files.Make(folder)
	if err != nil {
		return err
	}
	defer unmake() // leaves a folder that holds something
	var sounds files.Sounds
	defer sounds.Abort()
	stage := func(name string, sound [][]float64) error {
		return sounds.Stage(ctx, filepath.Join(folder, name), e.RateHz, sound)
	}
	var dialled [][]biquad.Filter // one move, two moves and so on
	for i := range moves {
		dialled = append(dialled, moves[:i+1])
	}
	err = e.Renders(dialled, func(i int, r training.Rendered) error {
		d.LoudLUFS = report.Number(math.Round(r.LoudLUFS*10) / 10)
		var after, before error
		if i > 0 {
			after = stage(d.Moves[i-1].After, r.Sound)
		}
		if i < len(moves) {
			before = stage(d.Moves[i].Before, r.Sound)
		}
		return errors.Join(after, before)
	})
	if err != nil {
		return err
	}
	text := files.File{Path: filepath.Join(folder, movesFile), Write: func(w io.Writer) error {
		_, err := io.WriteString(w, d.text())
		return err
	}}
	return files.Put(ctx, false, []files.File{text}, sounds...)
}

// text says what the sounds are, and how to listen to them.
func (d *movesJSON) text() string {
	t := &report.TextReport{}
	t.Paragraph("", fmt.Sprintf("What each move does in %s, heard one after another as they are dialled, %.0f s, all at %s LUFS.", d.Mix, float64(d.Sec), report.Level(float64(d.LoudLUFS), 1)))
	t.WriteString("\n")
	for _, p := range d.Moves {
		fmt.Fprintf(t, "move %d  %s\n        %s\n        %s\n", p.Number, p.Is, p.Before, p.After)
	}
	t.WriteString("\n")
	t.Paragraph("", words.Listening)
	return t.String()
}
