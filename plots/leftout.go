package plots

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"toneplumb/plots/vector"
)

// spanBox returns the part of the area that a span covers, and whether there is any.
func (d *diagram) spanBox(sp Span) (vg.Rectangle, bool) {
	from, to := max(sp.FromHz, MinHz), min(sp.ToHz, MaxHz)
	if !(from < to) {
		return vg.Rectangle{}, false
	}
	r := d.area.Rectangle
	r.Min.X, r.Max.X = d.x(from), d.x(to)
	return r, true
}

// hatch fills a left-out span with slanted lines and draws thin edges.
func (d *diagram) hatch(sp Span) {
	r, any := d.spanBox(sp)
	if !any {
		return
	}
	// Every line is y = x + k. k is a multiple of apart, counted from the sheet's corner,
	// so that the lines of adjoining spans continue each other.
	apart := d.u(9)
	var p vg.Path
	first := int((r.Min.Y - r.Max.X) / apart)
	for n := first - 1; ; n++ {
		k := apart * vg.Length(n)
		if r.Min.X+k > r.Max.Y {
			break
		}
		from, to := max(r.Min.X, r.Min.Y-k), min(r.Max.X, r.Max.Y-k)
		if from < to {
			p.Move(vg.Point{X: from, Y: from + k})
			p.Line(vg.Point{X: to, Y: to + k})
		}
	}
	d.SetLineStyle(draw.LineStyle{Color: d.tones.hatch, Width: d.u(1)})
	d.Stroke(p)
	for _, x := range []vg.Length{r.Min.X, r.Max.X} {
		d.stroke(d.hair, 1, vg.Point{X: x, Y: r.Min.Y}, vg.Point{X: x, Y: r.Max.Y})
	}
}

// reasonCasing is the width of the outline of paper around the letters of reasons, in layout units.
const reasonCasing = 6

// reason is the text of a left-out span and its place in the diagram.
type reason struct {
	lines  []string
	centre vg.Point
	turn   float64 // radians
	clear  bool    // whether the text is complete, inside the span and covers no curve
}

// reasonIn looks for a place inside the span: horizontally, then vertically. If there is
// none, it returns the place where the text covers the curves least, which is not clear. The
// second result is false if there is nothing to write.
func (d *diagram) reasonIn(sp Span) (reason, bool) {
	r, any := d.spanBox(sp)
	if !any || !named(sp.Why) {
		return reason{}, false
	}
	l := d.soft(noteSize)
	gap := d.u(8)
	room := r.Size()
	if lines := d.across(l, sp.Why, room.X-2*gap, room.Y-2*gap); lines != nil {
		size := vg.Point{X: d.widest(l, lines), Y: d.lead(l, len(lines))}
		if centre, covered := d.quietest(r, size); covered == 0 {
			return reason{lines, centre, 0, true}, true
		}
	}
	rows := int((room.X + d.u(4)) / d.lead(l, 1))
	lines := d.balanced(l, sp.Why, room.Y-2*gap, max(1, min(rows, 3)))
	size := vg.Point{X: d.lead(l, len(lines)), Y: d.widest(l, lines)}
	centre, covered := d.quietest(r, size)
	centre.X = max(d.area.Min.X+size.X/2, min(centre.X, d.area.Max.X-size.X/2))
	whole := strings.Join(lines, " ") == l.Printable(sp.Why)
	return reason{lines, centre, math.Pi / 2, whole && rows > 0 && covered == 0}, true
}

// reasons writes the reason of each left-out span, or its letter in the key.
func (d *diagram) reasons(k key) {
	var letters []keyLetter
	for _, sp := range d.panel.LeftOut {
		r, any := d.reasonIn(sp)
		if !any {
			continue
		}
		if letter := k.letter(sp.Why); letter != "" {
			box, _ := d.spanBox(sp)
			letters = append(letters, keyLetter{letter, box})
			continue
		}
		d.putTurned(d.soft(noteSize), r.centre, r.turn, reasonCasing, r.lines)
	}
	d.keyLetters(letters)
}

// keyLetter is a letter of the key and the place of its span.
type keyLetter struct {
	letter string
	box    vg.Rectangle
}

// middle returns twice the middle of the span.
func (k keyLetter) middle() float64 { return float64(k.box.Min.X + k.box.Max.X) }

// keyLetters writes a letter into each span where it covers the curves least;
// letters of narrow neighbours are moved apart.
func (d *diagram) keyLetters(all []keyLetter) {
	l := d.heavy(noteSize)
	slices.SortStableFunc(all, func(a, b keyLetter) int { return int(a.middle()) - int(b.middle()) })
	var wanted, room []float64
	for _, k := range all {
		wanted, room = append(wanted, k.middle()/2), append(room, float64(d.wide(l, k.letter)+d.u(8)))
	}
	for i, place := range within(spread(wanted, room), room, float64(d.area.Min.X), float64(d.area.Max.X)) {
		x := vg.Length(place)
		size := vg.Point{X: vg.Length(room[i]), Y: d.lead(l, 1)}
		strip := all[i].box
		strip.Min.X, strip.Max.X = x-size.X/2, x+size.X/2
		centre, _ := d.quietest(strip, size)
		d.putTurned(l, centre, 0, reasonCasing, []string{all[i].letter})
	}
}

// balanced breaks text as lines does, then reduces the width as far as possible without
// another line, so that no word is alone on the last line.
func (d *diagram) balanced(l lettering, txt string, width vg.Length, maxLines int) []string {
	lines := d.lines(l, txt, width, maxLines, vector.CutEnd)
	if len(lines) < 2 || strings.HasSuffix(lines[len(lines)-1], vector.Ellipsis) {
		return lines
	}
	least := max(width/3, d.widest(l, strings.Fields(txt))) // no word is broken for it
	for narrow := width; narrow > least; narrow -= d.u(4) {
		again := d.lines(l, txt, narrow, maxLines+1, vector.CutEnd)
		if len(again) > len(lines) {
			break
		}
		lines = again
	}
	return lines
}

// across returns the text on at most four horizontal lines, or nil if it needs more or
// a word would be broken.
func (d *diagram) across(l lettering, why string, width, height vg.Length) []string {
	for _, word := range strings.Fields(why) {
		if d.wide(l, word) > width {
			return nil
		}
	}
	lines := d.balanced(l, why, width, 5)
	if len(lines) > 4 || d.lead(l, len(lines)) > height {
		return nil
	}
	return lines
}

// widest returns the width of the widest line.
func (d *diagram) widest(l lettering, lines []string) vg.Length {
	var w vg.Length
	for _, txt := range lines {
		w = max(w, d.wide(l, txt))
	}
	return w
}

// key is the list of reasons that do not fit inside their spans. Each is represented there
// by a letter and written in full below the frequency axis.
type key []string

// maxKey is the number of letters available.
const maxKey = 'z' - 'a' + 1

// letter returns the letter of a reason, "" if it is not in the key.
func (k key) letter(why string) string {
	if i := slices.Index(k, why); i >= 0 {
		return string(rune('a' + i))
	}
	return ""
}

func (k key) String() string {
	var out []string
	for _, why := range k {
		out = append(out, k.letter(why)+" – "+why)
	}
	return strings.Join(out, "; ")
}

// keyLines returns the lines of the key below the axis.
func (s *sheet) keyLines(k key, width vg.Length) []string {
	if len(k) == 0 {
		return nil
	}
	return s.lines(s.soft(noteSize), "hatched: "+k.String(), width, 3, vector.CutEnd)
}

// crowdedOut returns k extended by the reasons that have no clear place in the panels, in
// order of frequency.
func (k key) crowdedOut(diagrams []*diagram) key {
	var all []Span
	for _, d := range diagrams {
		all = append(all, d.panel.LeftOut...)
	}
	var out key
	slices.SortStableFunc(all, func(a, b Span) int { return cmp.Compare(a.FromHz, b.FromHz) })
	crowded := func(sp Span) bool {
		return slices.ContainsFunc(diagrams, func(d *diagram) bool {
			if !slices.Contains(d.panel.LeftOut, sp) {
				return false
			}
			r, any := d.reasonIn(sp)
			return any && !r.clear
		})
	}
	for _, sp := range all {
		if slices.Contains(out, sp.Why) || len(out) == maxKey {
			continue
		}
		if slices.Contains(k, sp.Why) || crowded(sp) {
			out = append(out, sp.Why)
		}
	}
	return out
}
