package page

import (
	"fmt"

	"toneplumb/match"
	"toneplumb/match/report"
	"toneplumb/match/words"
	"toneplumb/spectrum"
)

// Curves are the data for the chart of the served page: levels in dB per band of
// [spectrum.Centres], null where left out. The names mean the same as in [match.Result].
type Curves struct {
	FreqHz      []report.Number `json:"freq_hz"`
	RateHz      report.Number   `json:"rate_hz"` // rate at which the equaliser runs
	MixDB       []report.Number `json:"mix_db"`
	ReferenceDB []report.Number `json:"reference_db"`
	DrawnDB     []report.Number `json:"difference_db"` // reference minus mix
	LowDB       []report.Number `json:"low_db"`        // likely range; null where unknown
	HighDB      []report.Number `json:"high_db"`
	SpreadDB    []report.Number `json:"spread_db"` // half the range of other references like these; null for a single reference
	TargetDB    []report.Number `json:"target_db"`
	FittedDB    []report.Number `json:"fitted_db"` // all moves together
	Judged      spectrum.Judged `json:"judged"`
	LeftOut     []LeftOut       `json:"left_out"`
	Zones       []Zone          `json:"zones"`
	Mix         string          `json:"mix"` // name of the mix's curve
	Difference  string          `json:"difference"`
	Reference   string          `json:"reference"` // name of the reference's curve
	Target      string          `json:"target"`
	Title       string          `json:"title"` // title of the lower panel
	InWords     string          `json:"in_words"`
}

// LeftOut is a frequency range that is not compared, with the reason.
type LeftOut struct {
	LowHz  report.Number `json:"low_hz"`
	HighHz report.Number `json:"high_hz"`
	Why    string        `json:"why"`
}

// Zone is a named frequency range.
type Zone struct {
	Name   string        `json:"name"`
	LowHz  report.Number `json:"low_hz"`
	HighHz report.Number `json:"high_hz"`
}

// NewCurves returns the curves of a comparison of recordings.
func NewCurves(r *match.Result) *Curves {
	c := &Curves{
		FreqHz: numbers(spectrum.Centres()), RateHz: report.Number(r.RateHz),
		MixDB: numbers(r.MixDB), ReferenceDB: numbers(r.ReferenceDB), DrawnDB: numbers(r.DrawnDB),
		LowDB: numbers(r.LowDB), HighDB: numbers(r.HighDB), SpreadDB: numbers(r.ReferenceSpreadDB),
		TargetDB: numbers(r.TargetDB), FittedDB: numbers(r.FittedDB), Judged: r.Judged(),
		LeftOut: []LeftOut{}, Mix: report.WithoutMoves(r, "mix"), Difference: report.WithoutMoves(r, "difference"), Reference: "reference",
		Target: report.TargetName(r),
		Title:  report.DifferenceTitle(len(r.References)), InWords: NewData(r).chartInWords(),
	}
	if n := len(r.References); n > 1 {
		c.Reference = fmt.Sprintf("mean of %d references", n)
	}
	for _, s := range r.LeftOutSpans() {
		c.LeftOut = append(c.LeftOut, LeftOut{report.Number(s.LowHz), report.Number(s.HighHz), words.Exclusion(s.Why)})
	}
	c.Zones = zones()
	return c
}

// zones returns the zones with their whole ranges, also where a part is left out: they are heard alone, and their borders
// drawn; no figure stands beside them.
func zones() []Zone {
	var all []Zone
	for _, z := range match.Zones() {
		all = append(all, Zone{z.Name, report.Number(z.LowHz), report.Number(z.HighHz)})
	}
	return all
}

// numbers converts values for JSON; nil stays null.
func numbers(values []float64) []report.Number {
	if values == nil {
		return nil
	}
	return report.Numbers(values)
}
