package report

import (
	"encoding/json"
	"io"
	"math"
	"strconv"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/match"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
)

// Version is the version of the JSON document.
const Version = 1

// document is what JSON writes. Other programs read it: names stay as they are,
// and what does not apply or is not known is null.
type document struct {
	Version          int                 `json:"version"`
	RateHz           int                 `json:"rate_hz"`
	SmoothingOct     number              `json:"smoothing_oct"`
	RangeHz          [2]number           `json:"range_hz"`
	TowardPercent    number              `json:"toward_percent"`
	Mix              *recordingDocument  `json:"mix"`
	References       []recordingDocument `json:"references"`
	Curve            []pointDocument     `json:"curve"`
	Moves            []moveDocument      `json:"moves"`
	TrimDB           number              `json:"trim_db"`
	LevelDifference  number              `json:"level_difference_db"`
	DistanceBeforeDB number              `json:"distance_before_db"`
	DistanceAfterDB  number              `json:"distance_after_db"`
	LoudnessAfter    *number             `json:"loudness_after_lufs"`
	TruePeakAfter    *number             `json:"true_peak_after_dbtp"`
	Warnings         []string            `json:"warnings"`
}

type recordingDocument struct {
	File          string    `json:"file"`
	RateHz        int       `json:"rate_hz"`
	Channels      int       `json:"channels"`
	DurationS     number    `json:"duration_s"`
	PartS         [2]number `json:"part_s"`     // the ends of what counts
	PassagesS     passages  `json:"passages_s"` // of several passages that count, each
	LoudnessLUFS  number    `json:"loudness_lufs"`
	LoudnessRange *number   `json:"loudness_range_lu"`
	TruePeak      *number   `json:"true_peak_dbtp"`
	CutoffHz      *number   `json:"cutoff_hz"`
}

type passages [][2]number

type pointDocument struct {
	FreqHz       number  `json:"freq_hz"`
	DifferenceDB number  `json:"difference_db"`
	LowDB        *number `json:"low_db"`
	HighDB       *number `json:"high_db"`
	SpreadLowDB  *number `json:"spread_low_db"`
	SpreadHighDB *number `json:"spread_high_db"`
	TargetDB     number  `json:"target_db"`
	FittedDB     number  `json:"fitted_db"`
	LeftOut      *string `json:"left_out"`
}

type moveDocument struct {
	Shape        string  `json:"shape"`
	FreqHz       number  `json:"freq_hz"`
	GainDB       number  `json:"gain_db"`
	GainLowDB    *number `json:"gain_low_db"`
	GainHighDB   *number `json:"gain_high_db"`
	Q            number  `json:"q"`
	BandwidthOct *number `json:"bandwidth_oct"`
	ShelfSlope   *number `json:"shelf_slope"`
	CutDBPerOct  *number `json:"cut_db_per_oct"`
	Reason       string  `json:"reason"`
	Dial         dial    `json:"dial"`
}

// dial is the move in the terms of the equaliser it was made for.
type dial struct {
	FreqHz  number  `json:"freq_hz"`
	FreqIs  string  `json:"freq_is"`
	GainDB  number  `json:"gain_db"`
	Width   *number `json:"width"`
	WidthIs string  `json:"width_is"`
}

// number is written with four decimals at most, which is far finer than anything
// here is known and the same on every processor; NaN and infinities are null.
type number float64

// MarshalJSON implements json.Marshaler.
func (n number) MarshalJSON() ([]byte, error) {
	x := math.Round(float64(n)*1e4) / 1e4
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return []byte("null"), nil
	}
	if x == 0 {
		x = 0 // not −0
	}
	return strconv.AppendFloat(nil, x, 'f', -1, 64), nil
}

func known(x float64) *number { n := number(x); return &n }

// at returns what a curve is at a band, NaN where there is no curve.
func at(db []float64, band int) float64 {
	if db == nil {
		return math.NaN()
	}
	return db[band]
}

// JSON writes the result as one document, which is also the settings of the moves.
func JSON(w io.Writer, r *match.Result) error {
	d := document{
		Version:       Version,
		RateHz:        int(math.Round(r.RateHz)),
		SmoothingOct:  number(r.Options.SmoothOct),
		RangeHz:       [2]number{number(r.Options.RangeHz[0]), number(r.Options.RangeHz[1])},
		TowardPercent: number(r.SolveOptions.TowardPercent),
		References:    []recordingDocument{},
		Moves:         []moveDocument{},
		TrimDB:        number(math.Round(r.TrimDB*100) / 100), LevelDifference: number(r.LevelDifferenceDB),
		DistanceBeforeDB: number(r.DistanceBeforeDB), DistanceAfterDB: number(r.DistanceAfterDB),
		Warnings: append([]string{}, r.Warnings...),
	}
	if after := r.Confirmed; after != nil {
		d.LoudnessAfter, d.TruePeakAfter = known(after.LoudnessAfterLUFS), known(after.TruePeakDBTP)
	}
	if r.Mix != nil {
		mix := recordingOf(r.Mix)
		d.Mix = &mix
	}
	for _, ref := range r.References {
		d.References = append(d.References, recordingOf(ref))
	}
	for b, difference := range r.DifferenceDB {
		p := pointDocument{
			FreqHz:       number(spectrum.CentreHz(b)),
			DifferenceDB: number(difference),
			TargetDB:     number(r.TargetDB[b]),
			FittedDB:     number(r.FittedDB[b]),
			LowDB:        known(at(r.LowDB, b)), HighDB: known(at(r.HighDB, b)),
			SpreadLowDB: known(difference - at(r.SpreadDB, b)), SpreadHighDB: known(difference + at(r.SpreadDB, b)),
		}
		if why := r.LeftOut[b]; why != "" {
			p.LeftOut = &why
		}
		d.Curve = append(d.Curve, p)
	}
	for _, m := range r.Moves {
		d.Moves = append(d.Moves, moveOf(m))
	}
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	return e.Encode(d)
}

func recordingOf(r *measure.Recording) recordingDocument {
	d := recordingDocument{
		File: r.Path, RateHz: r.Format.RateHz, Channels: r.Format.Channels,
		DurationS: number(r.DurationSec), PartS: [2]number{0, number(r.DurationSec)},
		LoudnessLUFS: number(r.LoudnessLUFS),
	}
	if n := len(r.Counted); n > 0 {
		d.PartS = [2]number{number(r.Counted[0][0]), number(r.Counted[n-1][1])}
		for _, p := range r.Counted {
			if n > 1 {
				d.PassagesS = append(d.PassagesS, [2]number{number(p[0]), number(p[1])})
			}
		}
	}
	if r.Known() {
		d.LoudnessRange, d.TruePeak = known(r.RangeLU), known(r.TruePeakDBTP)
	}
	if r.CutoffHz > 0 {
		d.CutoffHz = known(r.CutoffHz)
	}
	return d
}

func moveOf(m match.Move) moveDocument {
	d := moveDocument{
		Shape: m.Shape.String(), FreqHz: number(m.FreqHz), GainDB: number(m.GainDB),
		GainLowDB: known(m.GainLowDB), GainHighDB: known(m.GainHighDB),
		Q: number(m.Q), Reason: m.Reason,
		Dial: dial{FreqHz: number(m.Dial.FreqHz), GainDB: number(m.Dial.GainDB), Width: known(m.Dial.Width)},
	}
	d.Dial.FreqIs, d.Dial.WidthIs = match.DialWords(m.Shape, m.Dial.Stated)
	if m.Dial.Stated.Width == fit.NoWidth {
		d.Dial.Width = nil
	}
	if m.Shape == biquad.Bell {
		d.BandwidthOct = known(biquad.BandwidthFromQ(m.Q))
	} else {
		d.ShelfSlope = known(biquad.SlopeFromQ(m.Q, m.GainDB))
	}
	return d
}
