// Package plots draws a figure for people who mix: one or more panels over a
// shared frequency axis, with a table of settings underneath.
//
// It knows nothing of recordings: it draws the curves, spans and table the
// caller fills into a Figure, and (*Figure).WritePNG or WriteSVG, or WritePDF for
// one or more, is the whole path.
//
//	f := plots.Figure{Title: "…", Panels: []plots.Panel{{…}}, Table: plots.Table{…}}
//	err := f.WritePNG(w)
//
// The frequency axis always runs from 20 Hz to 20 kHz, logarithmically. All
// sizes follow the size of the picture, never its DPI, so that a figure keeps
// its proportions on screen, wall and paper. The same Figure gives the same
// bytes. Letters missing from the built-in typeface are drawn as empty boxes;
// text always runs from left to right.
//
// It imports no other package of ours but its drawing surfaces, plots/vector.
package plots

// Defaults of a Figure whose size is left at zero. Our choice: 9 × 6.6 inches
// at 150 DPI, which fits A4 and letter paper lying on its side.
const (
	DefaultWidthPx  = 1350
	DefaultHeightPx = 990
	DefaultDPI      = 150.0
)

// Ends of the frequency axis. Our choice: the customary limits of hearing.
const (
	MinHz = 20.0
	MaxHz = 20000.0
)

// Figure is everything that stands on one sheet, from the top down: title, lines,
// panels under the zones, table, paragraphs, ruled lines, footnotes. Empty parts take no
// room.
type Figure struct {
	// WidthPx and HeightPx are the size of the picture in pixels, 600×440 to
	// 10000×10000 and at most 40 million together; both 0 mean DefaultWidthPx
	// and DefaultHeightPx.
	WidthPx, HeightPx int

	// DPI is the resolution written into the file, in pixels per inch, 36 to
	// 2400; it says how large the picture prints and moves nothing in it.
	// 0 means DefaultDPI.
	DPI float64

	// Paper makes the figure a page to print: letters are as large as on the default
	// figure when it is printed, however large the page, and the margins are wide
	// enough for printers. It is at least 4×3 inches large.
	Paper bool

	// Dark draws light lines on dark paper; nothing else changes.
	Dark bool

	// Title is the heading, in bold, on at most two lines.
	Title string

	// Lines are small text under the title, each on at most two lines; what is
	// too long loses its middle, so that the ends of file names stay readable.
	Lines []string

	// Zones are named along the top and parted by hairlines through all panels.
	Zones []Zone

	// Panels stand under one another over the same frequency axis; at least one.
	Panels []Panel

	// Table stands under the panels.
	Table Table

	// Paragraphs stand under the table; on a sheet that is wider than high in a
	// column of their own at the right.
	Paragraphs []Paragraph

	// Ruled is the heading of room for handwriting after the paragraphs, of as many
	// lines as there is room for; empty for none.
	Ruled string

	// Footnotes are the smallest text, at the bottom, each on at most two lines.
	Footnotes []string

	// Grid stands under the lines, above the panels.
	Grid Grid
}

// Zone is a named part of the frequency axis.
type Zone struct {
	Name         string  // short, as "low mids"
	FromHz, ToHz float64 // cut to the axis: 0 and +Inf are allowed
}

// Panel is one diagram: decibels over frequency.
type Panel struct {
	// Title says what the panel shows; the legend stands beside or under it.
	Title string

	// YLabel stands sideways at the vertical axis, as "dB".
	YLabel string

	// Share of the height of all panels, relative to the other panels' shares;
	// 0 means 1.
	Share float64

	// YMinDB and YMaxDB are the ends of the vertical axis. Both 0: taken from
	// curves and intervals, at least MinSpanDB apart. Curves are cut there.
	YMinDB, YMaxDB float64

	// MinSpanDB is the smallest automatic height of the axis in dB; 0 means 6.
	MinSpanDB float64

	// LeastUnitsPerDB is the smallest height of a decibel on an automatic axis, in layout
	// units, of which the default figure has one a pixel; 0 means any. Where the axis is cut
	// for it, curves that are Whole stay inside it, and each rise beyond its ends is an
	// arrow with the largest value.
	LeastUnitsPerDB float64

	// ZeroLine draws 0 dB stronger than the grid, keeps it inside an automatic
	// axis, and writes the numbers of the axis with their sign.
	ZeroLine bool

	// Curves are drawn in order, the last on top.
	Curves []Curve

	// Intervals are drawn under all curves.
	Intervals []Interval

	// LeftOut are parts of the axis that were not judged; hatched, with the
	// reason written inside: across where its words fit, else upright. Where
	// neither leaves the curves alone, a letter stands inside and the reason
	// under the frequency axis. It is enough to give the reason in one of
	// several panels.
	LeftOut []Span

	// Marks are short upright ticks with a small label on the upper edge.
	Marks []Mark
}

// Curve is a line through points. NaN, infinite and absurd decibels (beyond
// ±1000) part it into pieces; a lone point becomes a short dash.
type Curve struct {
	// Name is what the legend says; an empty name has no entry there. A long
	// name loses its middle.
	Name string

	// FreqHz rises strictly and is above zero; DB has the same length. Both
	// are only read. Points outside the axis are cut off.
	FreqHz, DB []float64

	Style Style

	// Whole keeps the curve inside an axis that is cut, see Panel.LeastUnitsPerDB.
	Whole bool
}

// Interval is the room between two curves, as an error band.
type Interval struct {
	// Name is what the legend says, a row of it at most; empty for no entry.
	Name string

	// FreqHz rises strictly and is above zero; LowDB and HighDB have the same
	// length. Gaps in either part the interval as they part a curve.
	FreqHz, LowDB, HighDB []float64

	// Kind says how it is drawn; the zero value is Fill.
	Kind IntervalKind

	// Colour of the fill or the edge.
	Colour Colour
}

// IntervalKind is the way an interval is drawn.
type IntervalKind uint8

const (
	Fill        IntervalKind = iota // translucent fill with a hairline at its edges, which survives grey print
	HatchedEdge                     // both edges as a thin line with short strokes pointing inwards
)

// Span is a part of the frequency axis with a reason.
type Span struct {
	FromHz, ToHz float64 // cut to the axis: 0 and +Inf are allowed
	Why          string  // short; empty: hatched without words
}

// Mark is a labelled frequency.
type Mark struct {
	FreqHz float64
	Label  string // one to three letters, as the number of a row of the table
}

// Table is a list of settings or findings.
type Table struct {
	Header []string

	// Rows have at most as many cells as the header. The last column takes the
	// room that is left and is wrapped onto two lines, then cut with an ellipsis.
	Rows [][]string

	// Under has a sentence for each row that stands below it across the other columns;
	// empty for none.
	Under []string

	// ToFill draws rows as high as handwriting needs and of their cells only the first;
	// the others are a measure of the room.
	ToFill bool

	// Align of each column; columns beyond its end are aligned left.
	Align []Align

	// Instead is a sentence drawn in place of the table when there are no rows.
	Instead string
}

// Align is the alignment of a column.
type Align uint8

const (
	Left Align = iota
	Right
	Centre
)
