package fit

// Restrict returns the equaliser without dial frequencies outside lowHz to highHz: a
// move whose corner or centre lies where nothing is judged would answer no measured
// difference. A shape with no frequency left is no longer offered.
func (e Equaliser) Restrict(lowHz, highHz float64) Equaliser {
	for _, a := range []*ShapeLimits{&e.LowShelf, &e.Bell, &e.HighShelf} {
		if a.Count == 0 {
			continue
		}
		if a.FreqHz.continuous() {
			a.FreqHz.Min, a.FreqHz.Max = max(a.FreqHz.Min, lowHz), min(a.FreqHz.Max, highHz)
			if a.FreqHz.Min > a.FreqHz.Max {
				*a = ShapeLimits{}
			}
			continue
		}
		var inside []float64
		for _, hz := range a.FreqHz.settings() {
			if hz >= lowHz && hz <= highHz {
				inside = append(inside, hz)
			}
		}
		if len(inside) == 0 {
			*a = ShapeLimits{}
			continue
		}
		a.FreqHz = Dial{Values: inside}
	}
	return e
}
