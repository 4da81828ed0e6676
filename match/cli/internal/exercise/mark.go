package exercise

import (
	"context"
	"errors"
	"io"
	"path/filepath"
	"strings"

	"toneplumb/match/artefact"
	"toneplumb/match/cli/internal/flags"
	"toneplumb/match/job"
	"toneplumb/match/report"
	"toneplumb/match/training"
	"toneplumb/match/training/papers"
	"toneplumb/spectrum/finding"
)

func (o exerciseOptions) runMark(ctx context.Context, stdout, _ io.Writer) error {
	const usage = "toneplumb exercise --mark SHEET.csv... --answers FILE" + AnswersEnd
	switch {
	case len(o.inputs) == 0:
		return job.Fail(finding.FilesNeeded, usage, "a sheet that was filled in is needed")
	case o.answers == "":
		return job.Fail(finding.FilesNeeded, usage, "the file with the answers is needed")
	}
	letter, err := flags.IsLetter(o.paper)
	if err != nil {
		return err
	}
	inputs := append(append([]string{o.answers}, o.before...), o.inputs...)
	if err := flags.CheckPaths(o.outputs, inputs, artefact.Marks.Extensions(), o.replace); err != nil {
		return err
	}
	a, err := o.open()
	if err != nil {
		return err
	}
	var earlier []*papers.Marked
	for _, path := range o.before {
		marked, err := readMarked(path, o.stdin)
		if err != nil {
			return err
		}
		earlier = append(earlier, marked)
	}
	class := &papers.Class{Answers: a}
	var bad []error
	for _, path := range report.ByName(o.inputs) {
		if err := ctx.Err(); err != nil {
			return err
		}
		s, err := readStudent(path, a)
		if err != nil {
			bad = append(bad, err)
		}
		class.Students = append(class.Students, s)
	}
	if len(bad) == len(class.Students) && len(bad) == 1 {
		return bad[0]
	}
	class.AddEarlier(earlier)
	outputs := &flags.Output{Files: o.outputs, Replace: o.replace, JSON: o.json, Drawn: o.inputs}
	outputs.Style.Page.Letter = letter
	if len(bad) == len(class.Students) {
		outputs.Files = nil // there are no marks to write
	}
	if err := flags.Deliver(ctx, outputs, artefact.Marks, class, stdout); err != nil {
		return err
	}
	if len(bad) > 0 {
		return job.Fail(finding.SomeFailed, "each says why above; the others are marked", "%d of %d sheets could not be marked", len(bad), len(class.Students))
	}
	return nil
}

func (o exerciseOptions) open() (*training.Answers, error) {
	file, err := job.OpenText(o.answers)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	a, err := training.Open(file, o.password)
	hint := "give the file that exercise wrote beside the folder or page; its name ends in " + AnswersEnd
	switch {
	case err == nil:
		return a, nil
	case errors.Is(err, training.ErrLocked):
		hint = "give the words with --password"
	case errors.Is(err, training.ErrPassword):
		hint = "give the words that the exercise was written with, or write it again: the same command on the same mix hides the same moves"
	}
	return nil, job.Fail(finding.AnswersWrong, hint, "%q: %s", o.answers, err)
}

// readStudent marks a sheet. With an error the student has the reason instead of marks.
func readStudent(path string, a *training.Answers) (papers.Student, error) {
	file := report.Name(path)
	name := strings.TrimSuffix(file, filepath.Ext(file))
	sheet, err := job.OpenText(path)
	if err != nil {
		return papers.Student{Name: name, Why: report.Problem(err)}, err
	}
	defer sheet.Close()
	heard, err := training.ReadSheet(sheet, len(a.Tasks))
	if err != nil {
		return papers.Student{Name: name, Why: err.Error()}, job.Fail(finding.SheetWrong, "save the table as .csv, with rows such as 3,bell,1000,+4,1 under render,shape,freq_hz,gain_db,q", "%q: %s", path, err)
	}
	return papers.Mark(name, a, heard), nil
}
