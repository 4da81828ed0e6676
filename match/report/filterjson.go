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

// Numbers converts figures for JSON.
func Numbers(x []float64) []Number {
	all := make([]Number, len(x))
	for i, v := range x {
		all[i] = Number(v)
	}
	return all
}
