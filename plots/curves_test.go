package plots

import (
	"math"
)

// centres are the centres of 240 bands of 1/80 decade between 20 Hz and 20 kHz.
func centres() []float64 {
	hz := make([]float64, 240)
	for k := range hz {
		hz[k] = 1000 * math.Pow(10, (2*float64(k-136)+1)/160)
	}
	return hz
}

// curveOf samples f on the bands.
func curveOf(f func(hz float64) float64) []float64 {
	hz := centres()
	db := make([]float64, len(hz))
	for i := range hz {
		db[i] = f(hz[i])
	}
	return db
}

// hill returns a smooth hump of gainDB around hz, with a width in octaves.
func hill(gainDB, hz, octaves float64) func(float64) float64 {
	return func(f float64) float64 {
		d := math.Log2(f/hz) / octaves
		return gainDB * math.Exp(-2*d*d)
	}
}

// step returns a smooth shelf: gainDB below hz or, with up, above it.
func step(gainDB, hz float64, up bool) func(float64) float64 {
	return func(f float64) float64 {
		d := 2.2 * math.Log2(f/hz)
		if up {
			d = -d
		}
		return gainDB / (1 + math.Exp(d))
	}
}

func sum(fs ...func(float64) float64) func(float64) float64 {
	return func(hz float64) float64 {
		total := 0.0
		for _, f := range fs {
			total += f(hz)
		}
		return total
	}
}

// ripple returns an irregular but reproducible curve.
func ripple(depth, phase float64) func(float64) float64 {
	return func(hz float64) float64 {
		x := math.Log2(hz)
		return depth * (math.Sin(5.1*x+phase) + 0.6*math.Sin(11.7*x+2*phase) + 0.35*math.Sin(23.3*x-phase))
	}
}

func music(hz float64) float64 {
	return -24 - 1.1*math.Log2(hz/60)*math.Max(0, math.Log2(hz/60))/3 - 9*math.Max(0, math.Log2(45/hz)) - 2.5*math.Max(0, math.Log2(hz/9000))*4
}

// gapBetween returns a copy with NaN between two frequencies.
func gapBetween(db []float64, fromHz, toHz float64) []float64 {
	out := append([]float64(nil), db...)
	for i, hz := range centres() {
		if hz >= fromHz && hz < toHz {
			out[i] = math.NaN()
		}
	}
	return out
}
