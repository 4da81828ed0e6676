// Package exercise is the command for ear training: renders with hidden moves, their sheets and
// marks. Package match/training has the lessons themselves.
package exercise

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"toneplumb/match/cli/internal/files"
	"toneplumb/match/cli/internal/flags"
	"toneplumb/match/job"
	"toneplumb/match/page"
	"toneplumb/match/report"
	"toneplumb/match/training"
	"toneplumb/match/training/papers"
	"toneplumb/match/words"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
)

// exercise is an excerpt with the moves hidden in it.
type exercise struct {
	*training.Excerpt
	*training.Answers
	called string // name of the mix, except in the answers
}

// exercisePaths are the outputs of an exercise; "" is not written.
type exercisePaths struct{ folder, page, sheet, answers string }

// Names of files in an exercise's folder.
const (
	sheetFile = "sheet.csv"
	sheetPDF  = "sheet.pdf"
	// AnswersEnd is the end of the answers' file name.
	AnswersEnd = ".answers.json"
)

func renderName(i int) string {
	if i == 0 {
		return "plain.wav"
	}
	return fmt.Sprintf("render-%02d.wav", i)
}

func rendersWords(n int) string {
	if n == 1 {
		return renderName(1)
	}
	return renderName(1) + " to " + renderName(n)
}

// plan decides where each output goes. The answers go beside the folder, not into it, so that the
// folder can be handed out whole. The suffix is put at the end of all names.
func (o exerciseOptions) plan(suffix string) (to exercisePaths, err error) {
	numbered := func(path, end string) string { return strings.TrimSuffix(path, end) + suffix + end }
	for _, path := range o.outputs {
		is := &to.folder
		end := filepath.Ext(path)
		switch strings.ToLower(end) {
		case ".html":
			is = &to.page
		case ".pdf":
			is = &to.sheet
		default:
			path, end = filepath.Clean(path), ""
		}
		if *is != "" {
			return to, job.Fail(finding.OutputTwice, "name one folder, one page and one sheet at most", "there are two outputs like %q", path)
		}
		*is = numbered(path, end)
	}
	switch {
	case to.folder != "":
		to.answers = to.folder + AnswersEnd
	case to.page != "":
		to.answers = strings.TrimSuffix(to.page, filepath.Ext(to.page)) + AnswersEnd
	default:
		return to, job.Fail(finding.OutputNeeded, "toneplumb exercise MIX -o FOLDER, or -o page.html", "no folder or page for the exercise was named")
	}
	if o.answers != "" {
		to.answers = numbered(o.answers, filepath.Ext(o.answers))
	}
	if _, err := os.Stat(to.answers); err == nil {
		return to, job.Fail(finding.WouldOverwrite, "choose another name, or take the old exercise away", "%q is there already, and an exercise may need it", to.answers)
	}
	if _, err := flags.IsLetter(o.paper); err != nil {
		return to, err
	}
	return to, to.check(o.inputs)
}

// check rejects outputs that would lose work, such as filled-in sheets and other files, and answers
// that would be handed out.
func (to exercisePaths) check(inputs []string) error {
	if to.folder != "" {
		if err := files.CheckEmpty(to.folder, "name a folder that is not there yet"); err != nil {
			return err
		}
		if files.Holds(to.folder, audio.Goal(to.answers)) {
			return job.Fail(finding.AnswersInside, "name a file beside it with --answers", "the answers, %q, would lie in the folder that is to be handed out", to.answers)
		}
	}
	named := slices.DeleteFunc([]string{to.page, to.sheet, to.answers}, func(path string) bool { return path == "" })
	if err := flags.CheckWritable(named, inputs, true); err != nil {
		return err
	}
	return files.CheckUnused(named...)
}

// exerciseDone is what was found out while writing.
type exerciseDone struct{ loudLUFS, pageSec float64 }

// write writes all of it or nothing.
func (to exercisePaths) write(ctx context.Context, x exercise, o exerciseOptions) (done exerciseDone, err error) {
	letter, _ := flags.IsLetter(o.paper)
	sheet := func(w io.Writer) error { return papers.WriteSheet(w, x.Answers, x.called, letter) }
	documents := []files.File{{Path: to.answers, Write: func(w io.Writer) error { return x.Seal(w, o.password) }}}
	if to.sheet != "" {
		documents = append(documents, files.File{Path: to.sheet, Write: sheet})
	}
	if to.page != "" {
		documents = append(documents, files.File{Path: to.page, Write: func(w io.Writer) (err error) {
			done.pageSec, err = page.WriteExercise(ctx, w, x.Excerpt, x.Answers, x.called)
			return err
		}})
	}
	var sounds files.Sounds
	if to.folder != "" {
		unmake, err := files.Make(to.folder)
		if err != nil {
			return done, err
		}
		defer unmake()       // leaves a folder that holds something
		defer sounds.Abort() // before the folder goes
		documents = append(documents,
			files.File{Path: filepath.Join(to.folder, sheetFile), Write: func(w io.Writer) error { return training.WriteSheet(w, len(x.Tasks), x.Rules.MostMoves) }},
			files.File{Path: filepath.Join(to.folder, sheetPDF), Write: sheet})
		err = x.Renders(x.Tasks, func(i int, r training.Rendered) error {
			done.loudLUFS = r.LoudLUFS
			return sounds.Stage(ctx, filepath.Join(to.folder, renderName(i)), x.Excerpt.RateHz, r.Sound)
		})
		if err != nil {
			return done, o.failed(err, x)
		}
	}
	return done, o.failed(files.Put(ctx, false, documents, sounds...), x)
}

// unfit words the error that nothing can be hidden in the mix.
func (o exerciseOptions) unfit(err error) error {
	var file *audio.Error
	if errors.As(err, &file) || errors.Is(err, context.Canceled) {
		return err
	}
	return job.Fail(finding.TooLittleMusic, "choose another part with --part, or another mix", "%q %s", o.inputs[0], err)
}

// failed words an error of writing an exercise.
func (o exerciseOptions) failed(err error, x exercise) error {
	switch {
	case errors.Is(err, training.ErrSilent):
		return job.Fail(finding.TooLittleMusic, "choose another part with --part", "%q %s", o.inputs[0], err)
	case errors.Is(err, page.ErrTooMuch):
		return job.Fail(finding.TooLarge, "fewer renders, -n 12, or a folder in place of the page", "%d renders: %s", len(x.Tasks), err)
	}
	return err
}

// report prints what was written for a lesson.
func (to exercisePaths) report(t *report.TextReport, x exercise, done exerciseDone) {
	t.WriteString("\n")
	what := words.Renders(len(x.Tasks), x.Rules)
	if to.folder != "" {
		t.Paragraph("", fmt.Sprintf("%s, each at %s LUFS. %s", what, report.Level(done.loudLUFS, 1), words.Audible(x.Rules)))
	} else {
		t.Paragraph("", what+", equally loud. "+words.Audible(x.Rules))
	}
	if to.page != "" && done.pageSec < x.Sec() {
		t.Paragraph("", words.PageShortened(done.pageSec, page.MaxBytes))
	}
	if to.folder != "" {
		fmt.Fprintf(t, "wrote %s: plain.wav, %s, %s, %s\n", report.Printable(to.folder), rendersWords(len(x.Tasks)), sheetFile, sheetPDF)
	}
	flags.ReportWritten(t, to.page, to.sheet, to.answers)
}

// sheetOf says which sheet is filled in where.
func sheetOf(to exercisePaths) string {
	switch {
	case to.page == "":
		return "a copy of " + sheetFile
	case to.folder == "":
		return "the sheet on the page"
	}
	return "a copy of " + sheetFile + " or the sheet on the page"
}

// reportNext says what to hand out, and what to do next.
func (o exerciseOptions) reportNext(t *report.TextReport, to []exercisePaths) {
	keep := "They are sealed against reading by accident, not locked: anyone with toneplumb can open them. --password locks them."
	if o.password != "" {
		keep = "They are locked: without the password nobody opens them. Forgotten, the same command on the same mix with another name writes the exercise again."
	}
	t.WriteString("\n")
	t.Paragraph("", fmt.Sprintf("Give out all but the answers, %s. %s", report.Printable(to[0].answers), keep))
	t.Paragraph("", words.Listening)
	t.Paragraph("", "To be marked, each student fills in "+sheetOf(to[0])+", saves it as .csv under the student's own name, and gives you that file.")
	locked := ""
	if o.password != "" {
		locked = " --password WORDS" // not the words themselves: this may be handed on
	}
	fmt.Fprintf(t, "then: toneplumb exercise --mark STUDENT.csv... --answers %s%s\n", report.Argument(to[0].answers), locked) // whole, to be copied
}

// writtenName returns the name of an output, "" for none.
func writtenName(path string) string {
	if path == "" {
		return ""
	}
	return report.Name(path)
}

// exerciseJSON lists what was written; names are without folders.
type exerciseJSON struct {
	Version int           `json:"version"`
	Seed    uint64        `json:"seed"`
	FromSec report.Number `json:"from_s"`
	Sec     report.Number `json:"duration_s"`
	Lessons []lessonJSON  `json:"lessons"`
}

type lessonJSON struct {
	Name     string         `json:"name"`
	Folder   string         `json:"folder"`
	Page     string         `json:"page"`
	Sheet    string         `json:"sheet"`
	Answers  string         `json:"answers"`
	Renders  int            `json:"renders"`
	LeastDB  report.Number  `json:"least_change_db"`
	MostDB   report.Number  `json:"most_change_db"`
	LoudLUFS *report.Number `json:"loudness_lufs"` // of the folder's files
	PageSec  *report.Number `json:"page_duration_s"`
}

func (to exercisePaths) json(x exercise, done exerciseDone) lessonJSON {
	d := lessonJSON{x.Rules.Name, writtenName(to.folder), writtenName(to.page), writtenName(to.sheet), writtenName(to.answers), len(x.Tasks),
		report.Number(x.Rules.LeastDB), report.Number(x.Rules.MostDB), nil, nil}
	if to.folder != "" {
		d.LoudLUFS = report.Known(done.loudLUFS)
	}
	if to.page != "" {
		d.PageSec = report.Known(done.pageSec)
	}
	return d
}
