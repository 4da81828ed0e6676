package plots

import (
	"fmt"
	"strings"
)

// describe is the figure in words, for those who cannot see it: title, panels, and the table
// row by row.
func (f *Figure) describe() string {
	var all []string
	say := func(text string) {
		if text != "" {
			all = append(all, strings.TrimRight(text, ".")+".")
		}
	}
	say(f.Title)
	for i := range f.Panels {
		say(f.Panels[i].describe())
	}
	for _, row := range f.Table.Rows {
		say(f.Table.describe(row))
	}
	return strings.Join(all, " ")
}

// describe is a diagram in words.
func (p *Panel) describe() string {
	text := "Diagram"
	if p.Title != "" {
		text += ": " + p.Title
	}
	list := func(what string, all []string, between string) {
		if len(all) > 0 {
			text += ". " + what + ": " + strings.Join(all, between)
		}
	}
	var curves, marks, left []string
	for _, c := range p.Curves {
		if c.Name != "" {
			curves = append(curves, c.Name+c.span())
		}
	}
	for _, iv := range p.Intervals {
		if iv.Name != "" {
			curves = append(curves, iv.Name)
		}
	}
	for _, m := range p.Marks {
		marks = append(marks, m.Label+" at "+spokenHz(m.FreqHz))
	}
	for _, s := range p.LeftOut {
		words := fmt.Sprintf("%s to %s", spokenHz(s.FromHz), spokenHz(s.ToHz))
		if s.Why != "" {
			words += " (" + s.Why + ")"
		}
		left = append(left, words)
	}
	list("Curves", curves, "; ")
	list("Marked", marks, ", ")
	list("Left out", left, "; ")
	return text
}

// span is between which decibels a curve lies, and where; nothing of an empty one.
func (c *Curve) span() string {
	low, high := -1, -1
	for i, db := range c.DB {
		if !drawable(db) {
			continue
		}
		if low < 0 || db < c.DB[low] {
			low = i
		}
		if high < 0 || db > c.DB[high] {
			high = i
		}
	}
	if low < 0 {
		return ""
	}
	at := func(i int) string {
		return strings.Replace(fmt.Sprintf("%+.1f dB at %s", c.DB[i]+0, spokenHz(c.FreqHz[i])), "-", "−", 1)
	}
	return ", " + at(low) + " to " + at(high)
}

// spokenHz is a frequency on the axis in two digits or so.
func spokenHz(hz float64) string {
	if hz = min(max(hz, MinHz), MaxHz); hz >= 1000 {
		return fmt.Sprintf("%.3g kHz", hz/1000)
	}
	return fmt.Sprintf("%.3g Hz", hz)
}

// describe is a row in words, each cell after the name of its column where that has one.
func (t *Table) describe(row []string) string {
	if t.ToFill {
		return ""
	}
	var cells []string
	for i, cell := range row {
		switch {
		case cell == "":
		case t.Header[i] == "":
			cells = append(cells, cell)
		default:
			cells = append(cells, t.Header[i]+" "+cell)
		}
	}
	return strings.Join(cells, ", ")
}
