package serve

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"toneplumb/match"
	"toneplumb/match/artefact"
	"toneplumb/match/job"
	"toneplumb/match/page"
	"toneplumb/match/report"
	"toneplumb/match/training"
	"toneplumb/match/training/papers"
	"toneplumb/match/words"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
)

// trainingRequest is the input of an exercise or of its marking.
type trainingRequest struct {
	Renders    int         `json:"renders"`
	Difficulty string      `json:"difficulty"`
	Lesson     string      `json:"lesson"` // of a course, as "2/8", instead of a difficulty; "": none
	Number     uint64      `json:"number"` // seed: another number hides other moves
	Part       *[2]float64 `json:"part_s"` // the part to play; null: the loudest
	Password   string      `json:"password"`

	Answers string      `json:"answers"` // the document
	Sheets  []namedText `json:"sheets"`
	Earlier []namedText `json:"earlier"` // marks
}

// namedText is a document that was dropped on the page.
type namedText struct {
	Name string `json:"name"`
	Text string `json:"text"`
}

// rules returns the rules of the lesson, or else of the difficulty.
func (q *trainingRequest) rules() (training.Rules, error) {
	if q.Lesson == "" {
		d, err := training.ParseDifficulty(q.Difficulty)
		if err != nil {
			return training.Rules{}, &userError{Kind: finding.WrongOption, What: err.Error(), Hint: "choose one of them"}
		}
		return d.Rules(), nil
	}
	var lesson, of int
	if n, err := fmt.Sscanf(q.Lesson, "%d/%d", &lesson, &of); n != 2 || err != nil || lesson < 1 || lesson > of || of > training.MaxCourse {
		return training.Rules{}, &userError{Kind: finding.WrongOption, What: fmt.Sprintf("there is no lesson %q", q.Lesson), Hint: fmt.Sprintf("write it as 2/8, the second of eight; a course has %d at most", training.MaxCourse)}
	}
	return training.Lesson(lesson, of), nil
}

// readEarlier reads the marks of earlier lessons.
func (q *trainingRequest) readEarlier() ([]*papers.Marked, error) {
	var earlier []*papers.Marked
	for _, marks := range q.Earlier {
		marked, err := papers.ReadMarked(strings.NewReader(marks.Text))
		if err != nil {
			return nil, &userError{Kind: finding.KindOf(err, finding.AnswersWrong), What: fmt.Sprintf("%q: %s", nameOf(marks.Name), err), Hint: "leave it out, or drop marks that were taken away here"}
		}
		earlier = append(earlier, marked)
	}
	return earlier, nil
}

// exerciseRequest returns the request for an exercise with moves hidden in the mix.
func (q *viewRequest) exerciseRequest() (of job.ExerciseRequest, err error) {
	rules, err := q.rules()
	if err != nil {
		return of, err
	}
	earlier, err := q.readEarlier()
	if err != nil {
		return of, err
	}
	switch {
	case q.Renders < 1 || q.Renders > training.MaxTasks:
		return of, &userError{Kind: finding.WrongOption, What: fmt.Sprintf("%d renders cannot be made", q.Renders), Hint: fmt.Sprintf("give 1 to %d", training.MaxTasks)}
	case q.mix.input.IsProfile:
		return of, &userError{Kind: finding.IsProfile, What: fmt.Sprintf("%q is a profile, which holds no sound", q.mix.name), Hint: "drop the mix itself"}
	}
	of = job.ExerciseRequest{Path: q.mix.path, Name: q.mix.name, Lessons: []training.Rules{rules}, Renders: q.Renders, Number: q.Number, Missed: papers.Missed(earlier)}
	if p := q.trainingRequest.Part; p != nil {
		if !(p[0] >= 0 && p[1] > p[0] && p[1]-p[0] <= training.MaxExcerptSec) {
			return of, &userError{Kind: finding.TooLarge, What: "that part cannot be heard again and again", Hint: fmt.Sprintf("choose one of %.0f s at most, as 0:45-1:05", training.MaxExcerptSec)}
		}
		of.Part = [][2]float64{*p}
	}
	return of, nil
}

// exercise hides moves in the mix, as the command exercise does.
func (s *Server) exercise(ctx context.Context, q *viewRequest, t *task) (*outcome, error) {
	of, err := q.exerciseRequest()
	if err != nil {
		return nil, err
	}
	reader := job.Reader{Watch: func(src audio.Source, _ string) audio.Source {
		t.of.Store(src.Format().Frames)
		return &counted{src, &t.done}
	}}
	excerpt, answers, err := reader.Exercises(ctx, of)
	if err != nil {
		var file *audio.Error
		if errors.As(err, &file) || ctx.Err() != nil {
			return nil, userErrorOf(err, q.mix.name)
		}
		return nil, &userError{Kind: finding.TooLittleMusic, What: fmt.Sprintf("%q %s", q.mix.name, err), Hint: "choose another part, or another mix"}
	}
	t.of.Store(0) // the time for the page is unknown
	return q.madeExercise(ctx, excerpt, answers[0])
}

// madeExercise makes the files of an exercise.
func (q *viewRequest) madeExercise(ctx context.Context, excerpt *training.Excerpt, a *training.Answers) (*outcome, error) {
	names := match.Naming{Plain: q.Plain}
	called := names.Name(q.mix.name, "the mix")
	var made bytes.Buffer // now, while errors can still be reported
	heardSec, err := page.WriteExercise(ctx, &made, excerpt, a, called)
	if err != nil {
		if errors.Is(err, page.ErrTooMuch) {
			return nil, &userError{Kind: finding.TooLarge, What: fmt.Sprintf("%d renders: %s", q.Renders, err), Hint: "ask for fewer renders"}
		}
		return nil, err
	}
	keep := "The answers are sealed against reading by accident, not locked: anyone with toneplumb can open them. A password locks them."
	if q.Password != "" {
		keep = "The answers are locked: without the password nobody opens them."
	}
	give := []string{words.Renders(q.Renders, a.Rules) + ", equally loud. " + words.Audible(a.Rules),
		"Give out the page that plays and one of the sheets; keep the answers, which “Marking” asks for. " + keep, words.Listening}
	if heardSec < excerpt.Sec() {
		give = append(give, words.PageShortened(heardSec, page.MaxBytes))
	}
	file := func(end, form, mime string, write func(io.Writer) error) takeAway {
		return takeAway{Name: q.stem("exercise") + end, Form: form, mime: mime, write: func(_ context.Context, w io.Writer) error { return write(w) }}
	}
	return &outcome{Headline: fmt.Sprintf("The exercise is made: %d renders of %.0f s from %s on.", q.Renders, heardSec, audio.Clock(excerpt.FromSec)),
		Blocks: []report.Block{report.Paragraphs("", give...)},
		Files: []takeAway{
			file(".html", "Page that plays (HTML)", "text/html; charset=utf-8", func(w io.Writer) error { _, err := w.Write(made.Bytes()); return err }),
			file(" sheet.pdf", "Sheet to print (PDF)", "application/pdf", func(w io.Writer) error { return papers.WriteSheet(w, a, called, false) }),
			file(" sheet.csv", "Sheet to fill in (CSV)", "text/csv; charset=utf-8", func(w io.Writer) error { return training.WriteSheet(w, len(a.Tasks), a.Rules.MostMoves) }),
			file(".answers.json", "Answers, for you alone (JSON)", "application/json", func(w io.Writer) error { return a.Seal(w, q.Password) }),
		}}, nil
}

// marking marks filled-in sheets, as exercise --mark does.
func (s *Server) marking(_ context.Context, q *viewRequest, _ *task) (*outcome, error) {
	if q.Answers == "" || len(q.Sheets) == 0 {
		return nil, &userError{Kind: finding.FilesNeeded, What: "answers and at least one sheet are needed", Hint: "drop the answers (.answers.json) and the sheets that were filled in (.csv)"}
	}
	a, err := training.Open(strings.NewReader(q.Answers), q.Password)
	switch {
	case errors.Is(err, training.ErrLocked):
		return nil, &userError{Kind: finding.PasswordWrong, What: err.Error(), Hint: "give their password"}
	case errors.Is(err, training.ErrPassword):
		return nil, &userError{Kind: finding.PasswordWrong, What: err.Error(), Hint: "give the password that the exercise was made with"}
	case err != nil:
		return nil, &userError{Kind: finding.KindOf(err, finding.AnswersWrong), What: err.Error(), Hint: "drop the file with the answers that was made with the exercise"}
	}
	class := &papers.Class{Answers: a}
	for _, sheet := range q.Sheets {
		name := strings.TrimSuffix(nameOf(sheet.Name), filepath.Ext(sheet.Name))
		heard, err := training.ReadSheet(strings.NewReader(sheet.Text), len(a.Tasks))
		if err != nil {
			class.Students = append(class.Students, papers.Student{Name: name, Why: err.Error()})
			continue
		}
		class.Students = append(class.Students, papers.Mark(name, a, heard))
	}
	earlier, err := q.readEarlier()
	if err != nil {
		return nil, err
	}
	class.AddEarlier(earlier)
	return &outcome{Headline: papers.Headline(class), Blocks: papers.Blocks(class), Files: filesOf("marks", artefact.Marks, class)}, nil
}
