package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"toneplumb/biquad"
	"toneplumb/match/job"
	"toneplumb/match/report"
	"toneplumb/match/training"
	"toneplumb/match/words"
)

// student is a sheet with its marks, or with why it has none.
type student struct {
	name  string
	err   error
	why   string // the same without the path
	marks []training.Mark
	heard [][]biquad.Filter
	total training.Total
}

func runMark(ctx context.Context, o exerciseOptions, stdout io.Writer) error {
	const usage = "toneplumb exercise --mark SHEET.csv... --answers FILE" + answersEnd
	switch {
	case len(o.inputs) == 0:
		return fail(usage, "a sheet that was filled in is needed")
	case o.answers == "":
		return fail(usage, "the file with the answers is needed")
	}
	file, err := job.OpenText(o.answers)
	if err != nil {
		return err
	}
	defer file.Close()
	a, err := training.Open(file, o.password)
	switch {
	case errors.Is(err, training.ErrLocked):
		return fail("give the words with --password", "%q: %s", o.answers, err)
	case errors.Is(err, training.ErrPassword):
		return fail("give the words that the exercise was written with, or write it again: the same command on the same mix hides the same moves", "%q: %s", o.answers, err)
	case err != nil:
		return fail("take the file that exercise wrote", "%q: %s", o.answers, err)
	}
	var class []student
	bad := 0
	for _, path := range o.inputs {
		if err := ctx.Err(); err != nil {
			return err
		}
		s := readStudent(path, a)
		if s.err != nil {
			bad++
		}
		class = append(class, s)
	}
	if bad > 0 && len(class) == 1 {
		return class[0].err
	}
	write := writeMarks
	if o.json {
		write = writeMarksJSON
	}
	if err := write(stdout, a, class); err != nil {
		return err
	}
	if bad > 0 {
		return fail("it is said of each why; the others are marked", "%d of %d sheets could not be marked", bad, len(class))
	}
	return nil
}

func readStudent(path string, a *training.Answers) student {
	name := report.Name(path)
	s := student{name: strings.TrimSuffix(name, filepath.Ext(name))}
	var file *os.File
	if file, s.err = job.OpenText(path); s.err != nil {
		s.why = report.Problem(s.err)
		return s
	}
	defer file.Close()
	var err error
	if s.heard, err = training.ReadSheet(file, len(a.Tasks)); err != nil {
		s.why, s.err = err.Error(), fail("fill in rows as 3,bell,1000,+4,1 under render,shape,freq_hz,gain_db,q", "%q: %s", path, err)
		return s
	}
	for i, task := range a.Tasks {
		s.marks = append(s.marks, training.MarkAnswer(task, s.heard[i], float64(a.RateHz)))
	}
	s.total = training.TotalOf(s.marks)
	return s
}

func writeMarks(w io.Writer, a *training.Answers, class []student) error {
	t := &report.TextReport{}
	t.Paragraph("", fmt.Sprintf("%d renders of %s, %s. Curves are compared from 40 Hz to 16 kHz, in dB rms, level aside.", len(a.Tasks), a.Mix, a.Level))
	for _, s := range class {
		fmt.Fprintf(t, "\n%s\n", report.Shorten(s.name, report.Columns))
		if s.err != nil {
			t.Paragraph("   not marked: ", report.Printable(s.why))
		}
		for i, m := range s.marks {
			lead := fmt.Sprintf("%4d  %4.1f dB off  ", i+1, m.OffDB)
			t.Paragraph(lead, markWords(m))
		}
	}
	t.WriteString("\nthe class                found   missed  invented   dB off   no answer at all\n")
	for _, s := range class {
		if s.err != nil {
			fmt.Fprintf(t, "%s not marked\n", report.Pad(report.Shorten(s.name, 22), 22))
			continue
		}
		fmt.Fprintf(t, "%-22s %3d of %-3d   %4d      %4d     %4.2f     %4.2f\n", report.Shorten(s.name, 22), s.total.Found, s.total.Hidden, s.total.Missed, s.total.Invented, s.total.OffDB, s.total.HiddenDB)
	}
	return t.WriteOut(w)
}

// markWords says what was found, missed and invented.
func markWords(m training.Mark) string {
	var parts []string
	for _, p := range m.Found {
		parts = append(parts, fmt.Sprintf("found %s, heard as %s", moveWords(p.Hidden), moveWords(p.Heard)))
	}
	for _, f := range m.Missed {
		parts = append(parts, "missed "+moveWords(f))
	}
	for _, f := range m.Invented {
		parts = append(parts, "invented "+moveWords(f))
	}
	return strings.Join(parts, "; ")
}

func moveWords(f biquad.Filter) string {
	text := fmt.Sprintf("%s %s %s dB", words.Shape(f.Shape), words.FormatHz(f.FreqHz), words.FormatGain(f.GainDB))
	if f.Shape == biquad.Bell {
		text += fmt.Sprintf(" Q %.2g", f.Q)
	}
	return text
}

func writeMarksJSON(w io.Writer, a *training.Answers, class []student) error {
	type pair struct {
		Hidden *filterJSON `json:"hidden"`
		Heard  *filterJSON `json:"heard"`
	}
	type mark struct {
		Render   int           `json:"render"`
		OffDB    report.Number `json:"off_db"`
		HiddenDB report.Number `json:"no_answer_db"`
		Found    []pair        `json:"found"`
		Missed   []*filterJSON `json:"missed"`
		Invented []*filterJSON `json:"invented"`
	}
	type pupil struct {
		Name     string         `json:"name"`
		Error    *string        `json:"error"` // why there is nothing else; null where there is
		Found    *int           `json:"found"`
		Missed   *int           `json:"missed"`
		Invented *int           `json:"invented"`
		OffDB    *report.Number `json:"off_db"`
		HiddenDB *report.Number `json:"no_answer_db"`
		Renders  []mark         `json:"renders"`
	}
	all := []pupil{}
	for _, s := range class {
		if s.err != nil {
			all = append(all, pupil{Name: s.name, Error: &s.why})
			continue
		}
		p := pupil{s.name, nil, &s.total.Found, &s.total.Missed, &s.total.Invented, report.Known(s.total.OffDB), report.Known(s.total.HiddenDB), nil}
		for i, m := range s.marks {
			j := mark{i + 1, report.Number(m.OffDB), report.Number(m.HiddenDB), []pair{}, []*filterJSON{}, []*filterJSON{}}
			for _, f := range m.Found {
				j.Found = append(j.Found, pair{filterOf(f.Hidden), filterOf(f.Heard)})
			}
			for _, f := range m.Missed {
				j.Missed = append(j.Missed, filterOf(f))
			}
			for _, f := range m.Invented {
				j.Invented = append(j.Invented, filterOf(f))
			}
			p.Renders = append(p.Renders, j)
		}
		all = append(all, p)
	}
	return report.WriteJSON(w, struct {
		Version  int     `json:"version"`
		Mix      string  `json:"mix"`
		Level    string  `json:"level"`
		Students []pupil `json:"students"`
	}{1, a.Mix, string(a.Level), all})
}
