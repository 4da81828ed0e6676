// Package exercise is the command for ear training: renders with hidden moves, their sheets and
// marks. Package match/training has the lessons themselves.
package exercise

import (
	"fmt"

	"toneplumb/match/page"
	"toneplumb/match/report"
	"toneplumb/match/training"
)

// report prints what was written for a lesson.
func (to exercisePaths) report(t *report.TextReport, x exercise, done exerciseDone) {
	t.WriteString("\n")
	what := fmt.Sprintf("%d renders with hidden moves, %s, and the plain excerpt", len(x.Tasks), x.Rules.Name)
	if to.folder != "" {
		t.Paragraph("", fmt.Sprintf("%s, each at %s LUFS. %s", what, report.Level(done.loudLUFS, 1), x.Rules.AudibleWords()))
	} else {
		t.Paragraph("", what+", equally loud. "+x.Rules.AudibleWords())
	}
	if to.page != "" && done.pageSec < x.Sec() {
		t.Paragraph("", fmt.Sprintf("The page plays the first %.1f s, so that it stays under %d MB; fewer renders leave room for more.", done.pageSec, page.MaxBytes/1_000_000))
	}
	if to.folder != "" {
		fmt.Fprintf(t, "wrote %s: plain.wav, %s, %s, %s\n", report.Printable(to.folder), rendersWords(len(x.Tasks)), sheetFile, sheetPDF)
	}
	for _, path := range []string{to.page, to.sheet, to.answers} {
		if path != "" {
			fmt.Fprintf(t, "wrote %s\n", report.Printable(path))
		}
	}
}

// reportNext says what to hand out, and what to do next.
func (o exerciseOptions) reportNext(t *report.TextReport, to []exercisePaths) {
	keep := "They are sealed against reading by accident, not locked: anyone with toneplumb can open them. --password locks them."
	if o.password != "" {
		keep = "They are locked: without the password nobody opens them. Forgotten, the same command on the same mix with another name writes the exercise again."
	}
	t.WriteString("\n")
	t.Paragraph("", fmt.Sprintf("Give out all but the answers, %s. %s", report.Printable(to[0].answers), keep))
	t.Paragraph("", training.Listening)
	t.Paragraph("then: ", "toneplumb exercise --mark STUDENT.csv... --answers "+report.Printable(to[0].answers))
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
