package class

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"math"
	"strings"

	"toneplumb/match"
	"toneplumb/spectrum"
)

//go:embed overview.html
var overviewText string

var overviewTemplate = template.Must(template.New("overview").Funcs(template.FuncMap{
	"advice": advice, "chart": smallChart, "doubt": doubtWords, "gap": gapWords, "headline": Headline, "shared": shared, "zones": match.Zones,
	"since": (*Table).sinceWords, "sinceAll": (*Table).sinceSummary,
	"tolerance": (*Table).tolerance,
	"leftOut":   leftOutWords, "legend": func() string { return legend },
	"off":  func(v match.Verdict) bool { return v == match.Differs },
	"zone": func(z match.ZoneVerdict) string { return zoneCell(z, verdictMark) },
}).Parse(overviewText))

// Overview writes the table as one self-contained HTML page that prints well. Each mix has a
// small chart of its difference and its zones in words. The error is w's.
func Overview(w io.Writer, t *Table) error { return overviewTemplate.Execute(w, t) }

// farthest returns where in a zone the mix less the references is farthest from 0; 0 dB if the
// zone is left out.
func farthest(curveDB []float32, z match.Zone) (hz, db float64) {
	for band, v := range curveDB {
		if at := spectrum.CentreHz(band); at >= z.LowHz && at < z.HighHz && math.Abs(float64(v)) > math.Abs(db) {
			hz, db = at, -float64(v)
		}
	}
	return hz, db
}

// smallChart draws the mix less the references over frequency, from −mostDB to mostDB, with the
// tolerance of each zone. An arrow head marks where the curve leaves the frame. The HTML
// contains only numbers, so nothing needs escaping.
func smallChart(r Row) template.HTML {
	const width, height, mostDB = 240.0, 72.0, 12.0
	x := func(hz float64) float64 {
		low, high := spectrum.EdgeHz(0), spectrum.EdgeHz(spectrum.BandCount)
		return width * math.Log(hz/low) / math.Log(high/low)
	}
	y := func(db float64) float64 { return height / 2 * (1 - db/mostDB) } // may be outside the frame
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="curve" viewBox="0 0 %g %g" width="%g" height="%g" role="img"><title>mix minus reference over frequency</title>`, width, height, width, height)
	fmt.Fprintf(&b, `<path class="zero" d="M0 %gH%g"/><path class="edge" d="`, height/2, width)
	for _, z := range r.Zones {
		if z.Why == match.LeftOutZone {
			continue
		}
		for _, db := range []float64{z.ToleranceDB, -z.ToleranceDB} {
			fmt.Fprintf(&b, "M%.1f %.1fH%.1f", x(z.LowHz)+1, y(db), x(z.HighHz)-1)
		}
	}
	b.WriteString(`"/><path class="line" d="`)
	const every = 3 // bands: an eighth of an octave, while smoothing is over a third
	pen := "M"
	for band := 0; band < len(r.CurveDB); band += every {
		db := -float64(r.CurveDB[band])
		if math.IsNaN(db) {
			pen = "M"
			continue
		}
		fmt.Fprintf(&b, "%s%.1f %.1f", pen, x(spectrum.CentreHz(band)), y(db))
		pen = "L"
	}
	b.WriteString(`"/><path class="leaves" d="`)
	for _, z := range r.Zones {
		const half = 4.0 // of an arrow head's width
		hz, db := farthest(r.CurveDB, z.Zone)
		if at := min(max(x(hz), half), width-half); db > mostDB {
			fmt.Fprintf(&b, "M%.1f 1l-4 7h8z", at)
		} else if db < -mostDB {
			fmt.Fprintf(&b, "M%.1f %gl-4 -7h8z", at, height-1)
		}
	}
	b.WriteString(`"/></svg>`)
	return template.HTML(b.String())
}
