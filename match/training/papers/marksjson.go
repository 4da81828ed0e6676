package papers

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"toneplumb/biquad"
	"toneplumb/match/report"
	"toneplumb/match/training"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

const (
	marksKind    = "marks of an exercise"
	maxMarkBytes = 1 << 24 // of a file to read; our choice: far beyond any class
)

type pairJSON struct {
	Hidden *report.Filter `json:"hidden"`
	Heard  *report.Filter `json:"heard"` // null: found together with others
}

type markJSON struct {
	Render   int              `json:"render"`
	OffDB    report.Number    `json:"off_db"`
	HiddenDB report.Number    `json:"no_answer_db"`
	Score    report.Number    `json:"score"` // 0 to 1
	Found    []pairJSON       `json:"found"`
	WrongWay []pairJSON       `json:"wrong_way"`
	Confused []pairJSON       `json:"confused"`
	Missed   []*report.Filter `json:"missed"`
	Invented []*report.Filter `json:"invented"`
}

type studentJSON struct {
	Name     string         `json:"name"`
	Error    *string        `json:"error"` // why the sheet was not marked; null if it was
	Found    *int           `json:"found"`
	WrongWay *int           `json:"wrong_way"`
	Confused *int           `json:"confused"`
	Missed   *int           `json:"missed"`
	Invented *int           `json:"invented"`
	OffDB    *report.Number `json:"off_db"`
	HiddenDB *report.Number `json:"no_answer_db"`
	Score    *report.Number `json:"score"`
	Renders  []markJSON     `json:"renders"`
}

type mixupJSON struct {
	Hidden string `json:"hidden"`
	Heard  string `json:"heard"`
	Times  int    `json:"times"`
}

type marksJSON struct {
	Version  int           `json:"version"`
	Kind     string        `json:"kind"`
	Mix      string        `json:"mix"`
	Lesson   string        `json:"lesson"`
	Students []studentJSON `json:"students"`
	Mixups   []mixupJSON   `json:"mixups"` // of all lessons given
}

// WriteJSON writes the marks of a class; [ReadMarked] reads them.
func WriteJSON(w io.Writer, c *Class) error {
	d := marksJSON{2, marksKind, c.Answers.Mix, c.Answers.Rules.Name, []studentJSON{}, []mixupJSON{}}
	for _, s := range c.Students {
		if s.Why != "" {
			d.Students = append(d.Students, studentJSON{Name: s.Name, Error: &s.Why})
			continue
		}
		t := s.Total
		j := studentJSON{s.Name, nil, &t.Found, &t.WrongWay, &t.Confused, &t.Missed, &t.Invented, report.Known(t.OffDB), report.Known(t.HiddenDB), report.Known(t.Score), nil}
		for i, m := range s.Marks {
			j.Renders = append(j.Renders, markJSON{i + 1, report.Number(m.OffDB), report.Number(m.HiddenDB), report.Number(m.Score()),
				pairsOf(m.Found), pairsOf(m.WrongWay), pairsOf(m.Confused), movesOf(m.Missed), movesOf(m.Invented)})
		}
		d.Students = append(d.Students, j)
	}
	for _, m := range c.confusion().Mixups() {
		d.Mixups = append(d.Mixups, mixupJSON{m.Hidden.Name(), m.Heard.Name(), m.Times})
	}
	return report.WriteJSON(w, d)
}

func moveOf(f biquad.Filter) *report.Filter {
	if f == (biquad.Filter{}) {
		return nil
	}
	j := report.FilterOf(f)
	j.Q = report.KnownIf(f.Q != 0, f.Q) // 0: left empty
	return j
}

func movesOf(all []biquad.Filter) []*report.Filter {
	out := []*report.Filter{}
	for _, f := range all {
		out = append(out, moveOf(f))
	}
	return out
}

func pairsOf(all []training.Pair) []pairJSON {
	out := []pairJSON{}
	for _, p := range all {
		out = append(out, pairJSON{moveOf(p.Hidden), moveOf(p.Heard)})
	}
	return out
}

// Marked is a lesson read from the document of its marks.
type Marked struct {
	Lesson   string
	Students []Student
}

// Missed returns the kinds of moves that were missed in lessons, the most often missed first.
func Missed(lessons []*Marked) []training.Kind {
	var marks []training.Mark
	for _, lesson := range lessons {
		for _, s := range lesson.Students {
			marks = append(marks, s.Marks...)
		}
	}
	return training.Missed(marks)
}

var errMarks = errors.New("it holds no marks of ear training, as they are written in a .json")

// ReadMarked reads the marks of a lesson from a document of [WriteJSON].
func ReadMarked(r io.Reader) (*Marked, error) {
	raw, err := io.ReadAll(io.LimitReader(measure.Text(r), maxMarkBytes+1))
	if err != nil {
		return nil, err
	}
	var d marksJSON
	if err := json.Unmarshal(raw, &d); err != nil || len(raw) > maxMarkBytes || d.Kind != marksKind {
		return nil, errMarks
	}
	if d.Version != 2 {
		return nil, finding.OtherVersion.Of(fmt.Errorf("its version is %d; only 2 is known", d.Version))
	}
	out := &Marked{Lesson: d.Lesson}
	for _, j := range d.Students {
		s := Student{Name: j.Name}
		if j.Error != nil {
			s.Why = *j.Error
		}
		for _, m := range j.Renders {
			mark, err := m.mark()
			if err != nil {
				return nil, err
			}
			s.Marks = append(s.Marks, mark)
		}
		s.Total = training.TotalOf(s.Marks)
		out.Students = append(out.Students, s)
	}
	return out, nil
}

func (j markJSON) mark() (m training.Mark, err error) {
	one := func(v *report.Filter, mayLack bool) (f biquad.Filter) {
		if v == nil {
			if !mayLack {
				err = errMarks
			}
			return f
		}
		f, known := v.Filter()
		const anyRateHz = 192000
		if !known || f.Shape.IsCut() || f.Check(anyRateHz) != nil {
			err = errMarks
		}
		return f
	}
	moves := func(all []*report.Filter) (out []biquad.Filter) {
		for _, v := range all {
			out = append(out, one(v, false))
		}
		return out
	}
	pairs := func(all []pairJSON) (out []training.Pair) {
		for _, p := range all {
			out = append(out, training.Pair{Hidden: one(p.Hidden, false), Heard: one(p.Heard, true)})
		}
		return out
	}
	m = training.Mark{OffDB: float64(j.OffDB), HiddenDB: float64(j.HiddenDB), Found: pairs(j.Found), WrongWay: pairs(j.WrongWay),
		Confused: pairs(j.Confused), Missed: moves(j.Missed), Invented: moves(j.Invented)}
	return m, err
}
