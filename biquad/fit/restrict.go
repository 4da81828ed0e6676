package fit

// Restrict returns the equaliser without the frequencies outside lowHz to highHz: a
// move that has its corner or centre where nothing is judged answers nothing that
// was seen. A shape that has no frequency left is not offered.
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
