package plots

import (
	"slices"

	"toneplumb/plots/vector"

	"gonum.org/v1/plot/vg"
)

const zoneRoom = textSize + 12.0 // height of the strip of zone names, in layout units

// zoneEdges returns the ends of zones that are inside the axis, in order and each once.
func zoneEdges(zones []Zone) []float64 {
	var edges []float64
	for _, z := range zones {
		for _, hz := range [2]float64{z.FromHz, z.ToHz} {
			if hz > MinHz && hz < MaxHz {
				edges = append(edges, hz)
			}
		}
	}
	slices.Sort(edges)
	return slices.Compact(edges)
}

// zoneNames writes the names between hairlines, in the strip above the diagram.
func (d *diagram) zoneNames(zones []Zone) {
	bottom := d.area.Max.Y + d.marksRoom(d.panel)
	for _, hz := range zoneEdges(zones) {
		x := d.x(hz)
		d.stroke(d.hair, 1, vg.Point{X: x, Y: d.area.Max.Y}, vg.Point{X: x, Y: bottom + d.u(zoneRoom-4)})
	}
	for _, z := range zones {
		from, to := max(z.FromHz, MinHz), min(z.ToHz, MaxHz)
		if !(from < to) {
			continue
		}
		l := d.soft(textSize)
		room := d.x(to) - d.x(from) - d.u(6)
		if d.wide(l, z.Name) > room {
			l = d.soft(noteSize - 1)
		}
		d.put(l, (d.x(from)+d.x(to))/2, bottom+d.u(8), 0.5, d.line(l, z.Name, room, vector.CutEnd))
	}
}
