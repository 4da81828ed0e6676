package plots

import (
	"slices"
	"strings"

	"toneplumb/plots/vector"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// entry is one name of a legend with the line sample before it.
type entry struct {
	name   string
	width  vg.Length
	sample func(r vg.Rectangle) // draws the sample
}

// heading is the title of a panel and its legend, arranged in rows.
type heading struct {
	title  string
	rows   [][]entry
	beside bool // whether the first row is on the line of the title
}

const (
	sampleWide = 42.0 // layout units
	sampleGap  = 8.0
	entryGap   = 22.0
)

// headingOf arranges title and legend in a width. All names are beside the title if they
// fit, else only those of curves if they fit; the others are in rows below.
func (s *sheet) headingOf(p *Panel, width vg.Length) heading {
	var h heading
	h.title = s.line(s.heavy(labelSize), p.Title, width, vector.CutEnd)
	curves, intervals := s.entries(p, width)
	all := slices.Concat(curves, intervals)
	var row []entry
	for _, first := range [][]entry{all, curves} {
		used := s.wide(s.heavy(labelSize), h.title)
		for _, e := range first {
			used += e.width + s.u(entryGap)
		}
		if used <= width && (len(first) > 0 || h.title != "") {
			h.beside = true
			h.rows = [][]entry{first}
			all = all[len(first):]
			break
		}
	}
	var used vg.Length
	for _, e := range all {
		if len(row) > 0 && used+e.width > width {
			h.rows = append(h.rows, row)
			row, used = nil, 0
		}
		row = append(row, e)
		used += e.width + s.u(entryGap)
	}
	if len(row) > 0 {
		h.rows = append(h.rows, row)
	}
	h.beside = h.beside || h.title == ""
	return h
}

// headingHeight returns the height of the heading's rows.
func (s *sheet) headingHeight(h heading) vg.Length {
	rows := len(h.rows)
	if !h.beside {
		rows++
	}
	return s.lead(s.plain(labelSize), rows) + s.u(6)
}

// drawHeading draws a heading from top downwards between two edges.
func (s *sheet) drawHeading(h heading, left, right, top vg.Length) {
	l := s.plain(labelSize)
	s.put(s.heavy(labelSize), left, top-s.u(labelSize), 0, h.title)
	for i, row := range h.rows {
		x := left
		if h.beside && i == 0 && h.title != "" {
			x = right
			for k, e := range row {
				x -= e.width
				if k > 0 {
					x -= s.u(entryGap)
				}
			}
		}
		n := i
		if !h.beside {
			n++
		}
		baseline := top - s.u(labelSize) - s.lead(l, n)
		for _, e := range row {
			e.sample(vg.Rectangle{
				Min: vg.Point{X: x, Y: baseline - s.u(1)},
				Max: vg.Point{X: x + s.u(sampleWide), Y: baseline + s.u(0.72*labelSize)},
			})
			s.put(l, x+s.u(sampleWide+sampleGap), baseline, 0, e.name)
			x += e.width + s.u(entryGap)
		}
	}
}

// entries returns the legend's names. Those of curves are short enough for two in a row;
// those of intervals, which may be explanations, can take a whole row.
func (s *sheet) entries(p *Panel, row vg.Length) (curves, intervals []entry) {
	l := s.plain(labelSize)
	add := func(to *[]entry, name string, widest vg.Length, sample func(vg.Rectangle)) {
		if !named(name) {
			return
		}
		name = s.line(l, name, widest-s.u(sampleWide+sampleGap), vector.CutEnd)
		*to = append(*to, entry{name, s.wide(l, name) + s.u(sampleWide+sampleGap), sample})
	}
	for _, c := range p.Curves {
		style := s.lineStyle(c.Style)
		add(&curves, c.Name, row*48/100, func(r vg.Rectangle) {
			y := (r.Min.Y + r.Max.Y) / 2
			s.StrokeLine2(style, r.Min.X, y, r.Max.X, y)
		})
	}
	for _, iv := range p.Intervals {
		add(&intervals, iv.Name, row, func(r vg.Rectangle) { s.intervalSample(&iv, r) })
	}
	return curves, intervals
}

// intervalSample draws the sample of an interval, which looks as in the panel.
func (s *sheet) intervalSample(iv *Interval, r vg.Rectangle) {
	if iv.Kind == Fill {
		fill := s.curves[iv.Colour]
		fill.A = s.fillAlpha
		s.SetColor(fill)
		s.Fill(box(r))
		return
	}
	style := draw.LineStyle{Color: s.curves[iv.Colour], Width: s.u(1)}
	y := (r.Min.Y + r.Max.Y) / 2
	s.StrokeLine2(style, r.Min.X, y, r.Max.X, y)
	for x := r.Min.X; x < r.Max.X-s.u(3); x += s.u(9) {
		s.StrokeLine2(style, x, y, x+s.u(1.75), y+s.u(7))
	}
}

// named reports whether a name or reason is not blank.
func named(txt string) bool { return strings.TrimSpace(txt) != "" }
