package report

import (
	"toneplumb/biquad"
)

// Filter is a filter as it is written in JSON.
type Filter struct {
	Shape  string  `json:"shape"`
	FreqHz Number  `json:"freq_hz"`
	GainDB Number  `json:"gain_db"`
	Width  *Number `json:"width,omitempty"`
	Q      *Number `json:"q,omitempty"`
	Cut    int     `json:"cut_db_per_oct,omitempty"`
}

// FilterOf returns a filter for JSON, with its Q instead of the terms of a dial.
func FilterOf(f biquad.Filter) *Filter {
	return &Filter{Shape: f.Shape.String(), FreqHz: Number(f.FreqHz), GainDB: Number(f.GainDB), Q: KnownIf(!f.Shape.IsCut(), f.Q), Cut: f.CutDBPerOct}
}

// Filter returns a filter with its Q; not known if there is no such shape.
func (f *Filter) Filter() (filter biquad.Filter, known bool) {
	shape, known := biquad.ParseShape(f.Shape)
	filter = biquad.Filter{Shape: shape, FreqHz: float64(f.FreqHz), GainDB: float64(f.GainDB), CutDBPerOct: f.Cut}
	if f.Q != nil {
		filter.Q = float64(*f.Q)
	}
	return filter, known
}

// Numbers converts figures for JSON.
func Numbers(x []float64) []Number {
	all := make([]Number, len(x))
	for i, v := range x {
		all[i] = Number(v)
	}
	return all
}
