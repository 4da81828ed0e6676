package probe

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
)

// unit is one shape of an equaliser that is to be learnt: how it makes a sound of a
// setting, and what its dials mean.
type unit struct {
	name  string
	shape biquad.Shape
	want  Convention
	over  float64 // 1 if not told

	sox    func(p Setting) []string // effects
	ffmpeg func(p Setting) string   // a filter
	own    func(p Setting, rateHz float64) []biquad.Coeffs
	exact  func(p Setting) biquad.Filter // whose analogue response it has, see analogue
}

func g(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }

var (
	soxShelf = func(effect, width string) func(Setting) []string {
		return func(p Setting) []string {
			if width == "" {
				return []string{effect, g(p.GainDB), g(p.FreqHz)}
			}
			return []string{effect, g(p.GainDB), g(p.FreqHz), g(p.Width) + width}
		}
	}
	soxBell = func(width string) func(Setting) []string {
		return func(p Setting) []string { return []string{"equalizer", g(p.FreqHz), g(p.Width) + width, g(p.GainDB)} }
	}
	ff = func(filter, width string) func(Setting) string {
		return func(p Setting) string {
			text := fmt.Sprintf("%s=f=%g:g=%g:r=f64", filter, p.FreqHz, p.GainDB)
			if width != "" {
				text += fmt.Sprintf(":t=%s:w=%g", width, p.Width)
			}
			return text
		}
	}
)

// units. What sox and ffmpeg count is said in their manuals: s the slope S, q the Q, o
// octaves (by the cookbook's digital formula), h hertz; sox's shelves stand at S 0.5
// and ffmpeg's at Q 0.5 when nothing is told.
func units() []unit {
	shelf := func(w fit.WidthTerm) Convention { return Convention{Stated: fit.DialTerms{Width: w}} }
	fixed := func(w fit.WidthTerm, x float64) Convention {
		return Convention{Stated: fit.DialTerms{Width: w}, FixedWidth: x}
	}
	octaves := Convention{Stated: fit.DialTerms{Width: fit.Octaves}, KeptNearTop: true}
	corner := func(w fit.WidthTerm, x float64) Convention {
		return Convention{Stated: fit.DialTerms{Freq: fit.Corner, Width: w}, FixedWidth: x}
	}
	low, bell, high := biquad.LowShelf, biquad.Bell, biquad.HighShelf
	return []unit{
		{name: "sox bass, slope", shape: low, want: shelf(fit.OwnWidth), sox: soxShelf("bass", "s")},
		{name: "sox bass, Q", shape: low, want: shelf(fit.ShelfQ), sox: soxShelf("bass", "q")},
		{name: "sox bass, nothing", shape: low, want: fixed(fit.NoWidth, 0.5), sox: soxShelf("bass", "")},
		{name: "sox treble, slope", shape: high, want: shelf(fit.OwnWidth), sox: soxShelf("treble", "s")},
		{name: "sox treble, Q", shape: high, want: shelf(fit.ShelfQ), sox: soxShelf("treble", "q")},
		{name: "sox treble, nothing", shape: high, want: fixed(fit.NoWidth, 0.5), sox: soxShelf("treble", "")},
		{name: "sox equalizer, Q", shape: bell, want: Convention{}, sox: soxBell("q")},
		{name: "sox equalizer, octaves", shape: bell, want: octaves, sox: soxBell("o")},
		{name: "sox equalizer, Hz", shape: bell, want: Convention{WidthInHz: true}, sox: soxBell("h")},
		{name: "ffmpeg lowshelf, slope", shape: low, want: shelf(fit.OwnWidth), ffmpeg: ff("lowshelf", "s")},
		{name: "ffmpeg lowshelf, nothing", shape: low, want: fixed(fit.ShelfQ, 0.5), ffmpeg: ff("lowshelf", "")},
		{name: "ffmpeg highshelf, Q", shape: high, want: shelf(fit.ShelfQ), ffmpeg: ff("highshelf", "q")},
		{name: "ffmpeg highshelf, nothing", shape: high, want: fixed(fit.ShelfQ, 0.5), ffmpeg: ff("highshelf", "")},
		{name: "ffmpeg equalizer, Q", shape: bell, want: Convention{}, ffmpeg: ff("equalizer", "q")},
		{name: "ffmpeg equalizer, octaves", shape: bell, want: octaves, ffmpeg: ff("equalizer", "o")},
		{name: "ffmpeg equalizer, Hz", shape: bell, want: Convention{WidthInHz: true}, ffmpeg: ff("equalizer", "h")},
		{name: "first order, corner", shape: low, want: corner(fit.NoWidth, 0.5), own: firstOrder},
		{name: "first order, corner", shape: high, want: corner(fit.NoWidth, 0.5), own: firstOrder},
		{name: "3 dB points", shape: bell, want: Convention{Stated: fit.DialTerms{Width: fit.Octaves3DB}}, own: threeDBPoints},
		{name: "dB per octave", shape: low, want: shelf(fit.DBPerOct), own: perOctave},
		{name: "matched top, Q", shape: bell, want: Convention{}, over: Analogue, exact: ownFilter},
		{name: "matched top, slope", shape: high, want: shelf(fit.OwnWidth), over: Analogue, exact: ownFilter},
	}
}

// ownFilter takes the width dial for Q or slope S.
func ownFilter(p Setting) biquad.Filter {
	f := biquad.Filter{Shape: p.Shape, FreqHz: p.FreqHz, GainDB: p.GainDB, Q: p.Width}
	if p.Shape != biquad.Bell {
		f.Q = biquad.QFromSlope(p.Width, p.GainDB)
	}
	return f
}

// firstOrder is H(s) = (s + z)/(s + p) by the bilinear transform, for the high shelf
// (A·s + …): the corner on the flat side, where a straight-line drawing of the response
// leaves 0 dB, stands at the dial. A cut is the boost turned over, so the corner of the
// flat side is the zero of a boost and the pole of a cut.
func firstOrder(p Setting, rateHz float64) []biquad.Coeffs {
	gain := math.Pow(10, math.Abs(p.GainDB)/20)
	// Prewarped at the half-gain point, √gain below (low shelf) or above the corner, as
	// the cookbook does it.
	half := math.Tan(math.Pi * p.FreqHz / math.Sqrt(gain) / rateHz)
	if p.Shape == biquad.HighShelf {
		half = math.Tan(math.Pi * p.FreqHz * math.Sqrt(gain) / rateHz)
	}
	n, d := [2]float64{half * math.Sqrt(gain), 1}, [2]float64{half / math.Sqrt(gain), 1} // low shelf: z at the flat side
	if p.Shape == biquad.HighShelf {
		n, d = [2]float64{half, math.Sqrt(gain)}, [2]float64{half, 1 / math.Sqrt(gain)}
	}
	if p.GainDB < 0 {
		n, d = d, n
	}
	a0 := d[0] + d[1]
	return []biquad.Coeffs{{B0: (n[0] + n[1]) / a0, B1: (n[0] - n[1]) / a0, A1: (d[0] - d[1]) / a0}}
}

// threeDBPoints finds the Q whose analogue bell is 3.01 dB under its peak half the
// width above the centre, by bisection.
func threeDBPoints(p Setting, rateHz float64) []biquad.Coeffs {
	gain := math.Pow(10, math.Abs(p.GainDB)/40)
	x := math.Pow(2, p.Width/2)
	bell := func(q float64) float64 { // |H|² at x times the centre
		r := (1 - x*x) * (1 - x*x)
		return (r + x*x*gain*gain/(q*q)) / (r + x*x/(gain*gain*q*q))
	}
	low, high := 0.01, 100.0
	for range 100 {
		if mid := math.Sqrt(low * high); bell(mid) > math.Pow(gain, 4)/2 {
			low = mid
		} else {
			high = mid
		}
	}
	return biquad.Filter{Shape: p.Shape, FreqHz: p.FreqHz, GainDB: p.GainDB, Q: low}.Sections(rateHz)
}

// perOctave finds the slope S at which a shelf's steepest octave fraction falls so many
// dB an octave, by bisection on its response.
func perOctave(p Setting, rateHz float64) []biquad.Coeffs {
	low, high := 0.05, 1.0
	filter := func(S float64) biquad.Filter {
		return biquad.Filter{Shape: p.Shape, FreqHz: p.FreqHz, GainDB: p.GainDB, Q: biquad.QFromSlope(S, p.GainDB)}
	}
	for range 60 {
		mid := (low + high) / 2
		const step = 1e-3 // octaves
		db := biquad.ResponseDB(nil, []biquad.Filter{filter(mid)}, []float64{p.FreqHz, p.FreqHz * math.Pow(2, step)}, 1e6)
		if math.Abs(db[1]-db[0])/step < p.Width {
			low = mid
		} else {
			high = mid
		}
	}
	return filter(low).Sections(rateHz)
}

// analogue filters x by the analogue response of a shelf or bell of the cookbook, in
// its spectrum: a top that nothing squeezes.
func analogue(x []float64, f biquad.Filter, rateHz float64) []float64 {
	return inSpectrum(x, func(k, n int) complex128 {
		s := complex(0, rateHz*float64(k)/float64(n)/f.FreqHz)
		A := math.Pow(10, f.GainDB/40)
		c := func(x float64) complex128 { return complex(x, 0) }
		switch f.Shape {
		case biquad.Bell:
			return (s*s + s*c(A/f.Q) + 1) / (s*s + s*c(1/(A*f.Q)) + 1)
		case biquad.HighShelf:
			return c(A) * (c(A)*s*s + s*c(math.Sqrt(A)/f.Q) + 1) / (s*s + s*c(math.Sqrt(A)/f.Q) + c(A))
		}
		panic("no such analogue filter in this test")
	})
}

// prints are settings of a shape, each time other ones.
func (u unit) prints(rng *rand.Rand) []Setting {
	pick := func(x ...float64) float64 { return x[rng.IntN(len(x))] }
	sign := pick(-1, 1)
	var all []Setting
	add := func(hz, db, width float64) {
		if u.want.WidthInHz {
			width = math.Round(hz / width)
		}
		if u.want.Stated.Width == fit.DBPerOct {
			width *= 3
		}
		all = append(all, Setting{Number: len(all) + 2, Shape: u.shape, FreqHz: hz, GainDB: db, Width: width})
	}
	switch u.shape {
	case biquad.Bell:
		w := pick(0.8, 1, 1.2)
		add(pick(400, 1000, 1800), sign*6, w)
		add(pick(500, 1000, 1500), 12, w)
		add(pick(120, 250), pick(-6, 5, 8), 2)
		add(pick(8000, 10000), pick(6, -6), w)
	case biquad.LowShelf:
		hz := pick(120, 200, 350)
		add(hz, sign*6, 0.6)
		add(hz, sign*pick(9, 12), 0.6)
		add(hz, -6, 0.8)
	case biquad.HighShelf:
		hz := pick(2500, 4000, 6000)
		add(hz, sign*6, 0.6)
		add(hz, sign*pick(9, 12), 0.6)
		add(hz, -6, 0.8)
	}
	return all
}
