// Package papers writes the papers of a lesson in ear training: the sheet to print, and the marks
// of a class as text, CSV, JSON and a page for each student.
//
// It builds on match/training, which draws and marks.
package papers

import (
	"toneplumb/biquad"
	"toneplumb/match/training"
	"toneplumb/match/words"
)

// Class is a lesson that was marked.
type Class struct {
	Answers  *training.Answers
	Students []Student
}

// Student is a sheet with its marks, or the reason why it has none.
type Student struct {
	Name  string
	Why   string // why there are no marks; "" if there are
	Marks []training.Mark
	Total training.Total

	// Earlier are the student's earlier lessons, in order; see [Class.AddEarlier].
	Earlier []Lesson
}

// Lesson is a student's result in one lesson.
type Lesson struct {
	Name  string
	Marks []training.Mark
	Total training.Total
}

// Mark marks what a student heard in each render; heard has one entry per task.
func Mark(name string, a *training.Answers, heard [][]biquad.Filter) Student {
	s := Student{Name: name}
	for i, task := range a.Tasks {
		s.Marks = append(s.Marks, training.MarkAnswer(task, heard[i], float64(a.RateHz)))
	}
	s.Total = training.TotalOf(s.Marks)
	return s
}

// AddEarlier adds earlier lessons, oldest first, to the students with the same name.
func (c *Class) AddEarlier(lessons []*Marked) {
	for i, s := range c.Students {
		for _, l := range lessons {
			for _, before := range l.Students {
				if before.Name == s.Name && before.Why == "" {
					c.Students[i].Earlier = append(c.Students[i].Earlier, Lesson{l.Lesson, before.Marks, before.Total})
				}
			}
		}
	}
}

// confusion counts a student's answers in this lesson and the earlier ones.
func (s Student) confusion() training.Confusion {
	c := training.Confusion{}
	for _, l := range append(s.Earlier, Lesson{Marks: s.Marks}) {
		for _, m := range l.Marks {
			c.Add(m)
		}
	}
	return c
}

// confusion counts the answers of the class.
func (c *Class) confusion() training.Confusion {
	all := training.Confusion{}
	for _, s := range c.Students {
		for k, n := range s.confusion() {
			all[k] += n
		}
	}
	return all
}

// progress returns a student's scores in earlier lessons in percent, such as "easy: 41 %".
func (s Student) progress() []string {
	var all []string
	for _, l := range s.Earlier {
		all = append(all, l.Name+": "+words.Score(l.Total.Score))
	}
	return all
}
