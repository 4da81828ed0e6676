package plots

import "image/color"

// tones are all the colours of a sheet.
type tones struct {
	paper   color.NRGBA
	ink     color.NRGBA // text, axes, marks
	softInk color.NRGBA // less important text
	hair    color.NRGBA // edges of zones and of left-out spans, 0 dB
	grid    color.NRGBA
	hatch   color.NRGBA // left-out spans, rules between rows
	curves  [Grey + 1]color.NRGBA
	// fillAlpha is the opacity of a translucent fill, 0 to 255. Our choice: grid and
	// zone lines stay visible through it, on paper too.
	fillAlpha uint8
}

// light has the eight colours as published, on white.
var light = tones{
	paper:   color.NRGBA{255, 255, 255, 255},
	ink:     color.NRGBA{25, 25, 25, 255},
	softInk: color.NRGBA{75, 75, 75, 255},
	hair:    color.NRGBA{120, 120, 120, 255},
	grid:    color.NRGBA{222, 222, 222, 255},
	hatch:   color.NRGBA{190, 190, 190, 255},
	curves: [...]color.NRGBA{
		Black:         {0, 0, 0, 255},
		Orange:        {230, 159, 0, 255},
		SkyBlue:       {86, 180, 233, 255},
		BluishGreen:   {0, 158, 115, 255},
		Yellow:        {240, 228, 66, 255},
		Blue:          {0, 114, 178, 255},
		Vermillion:    {213, 94, 0, 255},
		ReddishPurple: {204, 121, 167, 255},
		Grey:          {125, 125, 125, 255},
	},
	fillAlpha: 56,
}

// dark keeps the order and the hues. Black becomes nearly white, and dark colours are
// lightened until they have enough contrast to the paper. Our choice: neither pure black nor
// pure white, whose contrast would dazzle.
var dark = tones{
	paper:   color.NRGBA{33, 34, 37, 255},
	ink:     color.NRGBA{228, 227, 223, 255},
	softInk: color.NRGBA{178, 177, 173, 255},
	hair:    color.NRGBA{134, 134, 134, 255},
	grid:    color.NRGBA{58, 59, 63, 255},
	hatch:   color.NRGBA{84, 85, 89, 255},
	curves: [...]color.NRGBA{
		Black:         {240, 239, 235, 255},
		Orange:        {238, 166, 24, 255},
		SkyBlue:       {132, 204, 245, 255},
		BluishGreen:   {20, 170, 126, 255},
		Yellow:        {240, 228, 66, 255},
		Blue:          {56, 146, 212, 255},
		Vermillion:    {226, 98, 20, 255},
		ReddishPurple: {214, 138, 181, 255},
		Grey:          {150, 150, 150, 255},
	},
	fillAlpha: 52,
}

// tones returns the colours of a figure.
func (f *Figure) tones() *tones {
	if f.Dark {
		return &dark
	}
	return &light
}
