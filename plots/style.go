package plots

import "gonum.org/v1/plot/vg"

// Style is the look of a curve. Curves in one panel should differ in dash or weight as well
// as in colour, so that they can be distinguished in grey.
type Style struct {
	Colour Colour
	Dash   Dash
	Weight Weight
	Cased  bool // whether a rim of paper separates it from the lines it crosses
}

// Colour is one of the eight colours of Okabe and Ito, or grey. They can be
// distinguished with every common kind of colour vision. On a dark figure Black is drawn
// nearly white, and some others are lighter. On white, Orange, SkyBlue and Yellow have a
// contrast below 3:1: use them for fills, not for thin lines.
// Source: M. Okabe, K. Ito, "Color Universal Design", 2008, fig. 16.
type Colour uint8

const (
	Black Colour = iota
	Orange
	SkyBlue
	BluishGreen
	Yellow
	Blue
	Vermillion
	ReddishPurple
	Grey // our addition, for less important lines
)

// Dash is the pattern of a line.
type Dash uint8

const (
	Solid Dash = iota
	Dashed
	Dotted
	DashDot
)

// dashes are lengths of dashes and gaps, relative to the width of the line. Our choice: long
// enough to survive a photocopy.
var dashes = [...][]vg.Length{
	Solid:   nil,
	Dashed:  {4.5, 2.2},
	Dotted:  {1.3, 1.7},
	DashDot: {6, 2, 1.3, 2},
}

// Weight is the width of a line.
type Weight uint8

const (
	Medium Weight = iota
	Thin
	Strong
)

// weights are widths in layout units, see sheet.
var weights = [...]vg.Length{Medium: 2.6, Thin: 1.5, Strong: 4.2}

// casing is the rim of paper on either side of a cased line, in layout units. Our choice.
const casing = 1.6
