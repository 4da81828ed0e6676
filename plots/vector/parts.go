package vector

import "gonum.org/v1/plot/vg"

// Role is what a part of a sheet is. Source of the names: ISO 32000-1:2008, 14.8.4 standard
// structure types.
type Role string

// The roles. Sections, tables and rows hold other parts, the others words and lines.
const (
	Section    Role = "Sect"
	Heading    Role = "H1"
	Subheading Role = "H2"
	Paragraph  Role = "P"
	Figure     Role = "Figure"
	Table      Role = "Table"
	Row        Role = "TR"
	HeadCell   Role = "TH"
	Cell       Role = "TD"
)

// holdsParts reports whether the role's own lines are decoration.
func (r Role) holdsParts() bool { return r == Section || r == Table || r == Row }

// Part is a piece of a sheet for programs that read it aloud.
type Part struct {
	Role Role
	Alt  string       // of a Figure: what it shows
	Box  vg.Rectangle // of a Figure and a Table: where it is
	Span int          // columns that a Cell takes; 0 is one
}

// Reader is a [Surface] that knows its parts. They nest, and are read in the order in which
// they are drawn; what belongs to none, or only to one that holds others, is decoration.
type Reader interface {
	Begin(Part)
	End()
}
