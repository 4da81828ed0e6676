package plots

import "gonum.org/v1/plot/vg"

// Style is the look of a curve. Curves that meet in one panel should differ in
// dash or weight as well as in colour, so that they are told apart in grey.
type Style struct {
	Colour Colour
	Dash   Dash
	Weight Weight
	Cased  bool // a rim of paper parts it from the lines it crosses
}

// Colour is one of the eight colours of Okabe and Ito, or grey. They are told
// apart with every common kind of colour vision. On a dark figure Black stands
// for a nearly white line, and some others are raised. On white, Orange,
// SkyBlue and Yellow have less than 3:1 contrast: for fills, not for thin lines.
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
	Grey // our addition, for what stands back
)

// Dash is the pattern of a line.
type Dash uint8

const (
	Solid Dash = iota
	Dashed
	Dotted
	DashDot
)

// dashes are in widths of the line. Our choice, long enough to survive a
// photocopy.
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

// weights are in layout units, see sheet.
var weights = [...]vg.Length{Medium: 2.6, Thin: 1.5, Strong: 4.2}

// casing is the rim of paper on either side of a cased line, in layout units. Our choice.
const casing = 1.6
