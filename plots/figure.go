// Package plots draws a figure for people who mix: one or more panels over a
// shared frequency axis, with a table of settings below them.
//
// It knows nothing about recordings: it draws the curves, spans and table of a [Figure].
// Fill one in, then call [Figure.WritePNG], [Figure.WriteSVG] or, for one or more figures,
// [WritePDF].
//
//	f := plots.Figure{Title: "…", Panels: []plots.Panel{{…}}, Table: plots.Table{…}}
//	err := f.WritePNG(w)
//
// The frequency axis always runs from 20 Hz to 20 kHz, logarithmically. All
// sizes are relative to the size of the picture and independent of its DPI (unless Figure.Steady
// or Figure.Paper says so), so that a figure keeps its proportions on screen, wall
// and paper. The same Figure gives the same bytes. Letters missing from the built-in
// typeface are drawn as empty boxes; text always runs from left to right.
//
// Of toneplumb it imports its drawing surfaces only, plots/vector.
package plots

// The defaults of a [Figure] whose size is 0. Our choice: 9 × 6.6 inches at 150 DPI, which
// fits A4 and letter paper in landscape format.
const (
	DefaultWidthPx  = 1350
	DefaultHeightPx = 990
	DefaultDPI      = 150.0
)

// The ends of the frequency axis. Our choice: the customary limits of hearing.
const (
	MinHz = 20.0
	MaxHz = 20000.0
)

// Figure is the content of one sheet. From top to bottom: title, lines, grid, zones and
// panels, table, paragraphs, ruled lines, footnotes. Empty parts take no space.
type Figure struct {
	// WidthPx and HeightPx are the size of the picture in pixels, 600×440 to
	// 10000×10000 and at most 40 million together; both 0 mean DefaultWidthPx
	// and DefaultHeightPx.
	WidthPx, HeightPx int

	// DPI is the resolution written into the file, in pixels per inch, 36 to
	// 2400. It determines the printed size and does not change the drawing, except on
	// Paper. 0 means DefaultDPI.
	DPI float64

	// Steady keeps letters and lines at the size that they have on the default figure at
	// this DPI, regardless of the size of the picture. It must be at least 4×3 inches.
	Steady bool

	// Paper makes the figure a page to print: printed letters have the size of those on the
	// default figure, regardless of the size of the page, and the margins are wide enough
	// for printers. The page must be at least 4×3 inches.
	Paper bool

	// Dark draws light lines on dark paper; nothing else changes.
	Dark bool

	// Title is the heading, in bold, on at most two lines. Shorter is the same in fewer words, tried in
	// turn where it needs more; if all do, the last is cut at its end.
	Title   string
	Shorter []string

	// Lines are small text below the title, each on at most two lines. A longer text
	// loses its middle, so that the ends of file names stay readable.
	Lines []string

	// Zones are named along the top and separated by hairlines through all panels.
	Zones []Zone

	// Panels are drawn one below the other over the same frequency axis; at least one.
	Panels []Panel

	// Table is drawn below the panels.
	Table Table

	// Paragraphs are drawn below the table, or in a column at the right if the sheet is
	// wider than high.
	Paragraphs []Paragraph

	// Ruled is the heading of ruled lines for handwriting after the paragraphs, as many as
	// fit; empty for none.
	Ruled string

	// Footnotes are the smallest text, at the bottom, each on at most two lines. Those that begin with a
	// bullet share a line where they fit.
	Footnotes []string

	// Grid is drawn below the lines, above the panels.
	Grid Grid
}

// Zone is a named part of the frequency axis.
type Zone struct {
	Name         string  // short, such as "low mids"
	FromHz, ToHz float64 // clipped to the axis: 0 and +Inf are allowed
}

// Panel is one diagram: decibels over frequency.
type Panel struct {
	// Title says what the panel shows; the legend is beside or below it.
	Title string

	// YLabel is written sideways along the vertical axis, such as "dB".
	YLabel string

	// Share is the share in the height of all panels, relative to the other panels' shares;
	// 0 means 1.
	Share float64

	// Yields says that the panel is left out rather than make another panel low.
	Yields bool

	// YMinDB and YMaxDB are the ends of the vertical axis, at which curves are clipped. If
	// both are 0 they are chosen for the curves and intervals, at least MinSpanDB apart.
	YMinDB, YMaxDB float64

	// MinSpanDB is the smallest span of an automatic axis in dB; 0 means 6.
	MinSpanDB float64

	// LeastUnitsPerDB is the smallest height of a decibel on an automatic axis, in layout
	// units (one pixel of the default figure); 0 means any. If the axis has to be cut for
	// it, curves that are Whole stay inside, and each part of a strong curve beyond the ends
	// is marked by an arrow with its largest value. About half that height is enough where
	// otherwise much of a strong curve would be far beyond.
	LeastUnitsPerDB float64

	// ZeroLine draws 0 dB stronger than the grid, keeps it inside an automatic
	// axis, and writes the numbers of the axis with their sign.
	ZeroLine bool

	// Curves are drawn in order, the last on top.
	Curves []Curve

	// Intervals are drawn below all curves.
	Intervals []Interval

	// LeftOut are parts of the axis that were not judged. They are hatched, with the reason
	// written inside: horizontally if it fits, otherwise vertically. If either way it would
	// cover a curve, a letter is written inside and the reason below the frequency axis.
	// With several panels it is enough to give the reason in one.
	LeftOut []Span

	// Marks are short vertical ticks with a small label at the upper edge.
	Marks []Mark
}

// Curve is a line through points. Values that are NaN, infinite or beyond ±1000 dB
// interrupt it; a single point becomes a short dash.
type Curve struct {
	// Name is the entry in the legend; an empty name has none. A long name loses its
	// middle.
	Name string

	// FreqHz must be above zero and rise strictly; DB must have the same length. Both
	// are only read. Points outside the axis are clipped.
	FreqHz, DB []float64

	Style Style

	// Whole keeps the curve inside an axis that is cut, see Panel.LeastUnitsPerDB.
	Whole bool
}

// Interval is the area between two curves, such as an error band.
type Interval struct {
	// Name is the entry in the legend, at most one row; empty for none.
	Name string

	// FreqHz must be above zero and rise strictly; LowDB and HighDB must have the same
	// length. Gaps in either interrupt the interval, as in a Curve.
	FreqHz, LowDB, HighDB []float64

	// Kind says how it is drawn; the zero value is Fill.
	Kind IntervalKind

	// Colour is that of the fill or the edge.
	Colour Colour
}

// IntervalKind is the way an interval is drawn.
type IntervalKind uint8

const (
	Fill        IntervalKind = iota // translucent fill with thin edges, which remain visible in grey print
	HatchedEdge                     // both edges as a thin line with short strokes pointing inwards
)

// Span is a part of the frequency axis with a reason.
type Span struct {
	FromHz, ToHz float64 // clipped to the axis: 0 and +Inf are allowed
	Why          string  // short; if empty, the span is hatched without a reason
}

// Mark is a labelled frequency.
type Mark struct {
	FreqHz float64
	Label  string // one to three letters, such as the number of a row of the table
}

// Table is a list of settings or findings.
type Table struct {
	Header []string

	// Rows have at most as many cells as the header. The last column takes the
	// remaining width and is wrapped onto two lines, then cut with an ellipsis.
	Rows [][]string

	// Under has a sentence for each row, drawn below it from the second column on; empty
	// for none.
	Under []string

	// ToFill draws rows high enough for handwriting, and only their first cells; the
	// others only set the widths of the columns.
	ToFill bool

	// Align is the alignment of each column; columns beyond its end are aligned left.
	Align []Align

	// Instead is a sentence drawn instead of the table if there are no rows.
	Instead string
}

// Align is the alignment of a column.
type Align uint8

const (
	Left Align = iota
	Right
	Centre
)
