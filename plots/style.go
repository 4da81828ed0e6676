package plots

import (
	"image/color"

	"gonum.org/v1/plot/vg"
)

// Style is the look of a curve. Curves that meet in one panel should differ in
// dash or weight as well as in colour, so that they are told apart in grey.
type Style struct {
	Colour Colour
	Dash   Dash
	Weight Weight
}

// Colour is one of the eight colours of Okabe and Ito, or grey. They are told
// apart with every common kind of colour vision.
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

var colours = [...]color.NRGBA{
	Black:         {0, 0, 0, 255},
	Orange:        {230, 159, 0, 255},
	SkyBlue:       {86, 180, 233, 255},
	BluishGreen:   {0, 158, 115, 255},
	Yellow:        {240, 228, 66, 255},
	Blue:          {0, 114, 178, 255},
	Vermillion:    {213, 94, 0, 255},
	ReddishPurple: {204, 121, 167, 255},
	Grey:          {125, 125, 125, 255},
}

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
