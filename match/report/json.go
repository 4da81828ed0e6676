package report

import (
	"io"
	"math"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/match"
	"toneplumb/match/document"
	"toneplumb/match/words"
	"toneplumb/spectrum"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// FindingsVersion is the version of the documents of match, check, class, nearest, measure, render,
// tracks and eqread, whose warnings have codes. In documents of version 1 they are texts only.
const FindingsVersion = 2

// matchDocument is what [JSON] writes. Other programs read it: names never change, and a
// value that does not apply or is unknown is null.
type matchDocument struct {
	Version            int                   `json:"version"`
	RateHz             int                   `json:"rate_hz"`
	SmoothingOct       Number                `json:"smoothing_oct"`
	RangeHz            [2]Number             `json:"range_hz"`
	match.SolveOptions                       // those with names in JSON
	Stage              string                `json:"stage"`    // rough, finished or as measured
	Outlook            string                `json:"outlook"`  // advised, or why there are no moves
	Headline           string                `json:"headline"` // a sentence
	Level              string                `json:"level"`    // how the level of the curves was chosen
	Mix                *recordingDocument    `json:"mix"`
	References         []recordingDocument   `json:"references"`
	Curve              []pointDocument       `json:"curve,omitempty"` // not in settings
	Equaliser          *string               `json:"equaliser"`       // its name; null: the default one
	Moves              []MoveDocument        `json:"moves"`
	TrimDB             Number                `json:"trim_db"`
	LevelDifference    Number                `json:"level_difference_db"`
	DistanceBeforeDB   Number                `json:"distance_before_db"`
	DistanceAfterDB    Number                `json:"distance_after_db"`
	Steps              []Number              `json:"distance_after_moves_db"` // after 1, 2, … moves
	Others             []alternativeDocument `json:"other_stages"`
	Sides              []sideDocument        `json:"sides"` // zones in which side and mid are off by different amounts
	LoudnessAfter      *Number               `json:"loudness_after_lufs"`
	TruePeakAfter      *Number               `json:"true_peak_after_dbtp"`
	LeadChange         *Number               `json:"lead_change_lu"` // of the track of --lead; positive: further out
	Warnings           []Warning             `json:"warnings"`
}

type recordingDocument struct {
	File          string    `json:"file"`
	RateHz        int       `json:"rate_hz"`
	Channels      int       `json:"channels"`
	DurationS     Number    `json:"duration_s"`
	PartS         [2]Number `json:"part_s"`     // first and last second that is compared, see match.Comparison.Used
	PassagesS     passages  `json:"passages_s"` // the passages that are compared, if several
	LoudnessLUFS  Number    `json:"loudness_lufs"`
	LoudnessRange *Number   `json:"loudness_range_lu"`
	TruePeak      *Number   `json:"true_peak_dbtp"`
	CutoffHz      *Number   `json:"cutoff_hz"`
}

type passages [][2]Number

type pointDocument struct {
	FreqHz       Number     `json:"freq_hz"`
	DifferenceDB Number     `json:"difference_db"`
	LowDB        *Number    `json:"low_db"`
	HighDB       *Number    `json:"high_db"`
	SpreadLowDB  *Number    `json:"spread_low_db"`
	SpreadHighDB *Number    `json:"spread_high_db"`
	TargetDB     Number     `json:"target_db"`
	FittedDB     Number     `json:"fitted_db"`
	LeftOut      *Exclusion `json:"left_out"`
}

// MoveDocument is a move as it is written in JSON.
type MoveDocument struct {
	Shape        string  `json:"shape"`
	FreqHz       Number  `json:"freq_hz"`
	GainDB       Number  `json:"gain_db"`
	GainLowDB    *Number `json:"gain_low_db"`
	GainHighDB   *Number `json:"gain_high_db"`
	Q            Number  `json:"q"`
	BandwidthOct *Number `json:"bandwidth_oct"`
	ShelfSlope   *Number `json:"shelf_slope"`
	CutDBPerOct  *Number `json:"cut_db_per_oct"`
	ByHand       bool    `json:"by_hand"`
	Reason       string  `json:"reason"`
	ReasonCode   string  `json:"reason_code"`
	ReasonDB     *Number `json:"reason_db"`        // the reason's figure, reference less mix; null if it has none
	ReasonHalf   *Number `json:"reason_half_db"`   // half the likely range (95 %) of the difference there
	ReasonSpread *Number `json:"reason_spread_db"` // half the band of other references like these there
	Dial         dial    `json:"dial"`
}

// dial is a move in the terms of the equaliser it was made for.
type dial struct {
	FreqHz  Number  `json:"freq_hz"`
	FreqIs  string  `json:"freq_is"`
	GainDB  Number  `json:"gain_db"`
	Width   *Number `json:"width"`
	WidthIs string  `json:"width_is"`

	WidthLaw *document.WidthLaw `json:"width_law,omitempty"`
}

// alternativeDocument describes the moves at another stage.
type alternativeDocument struct {
	Stage         string `json:"stage"`
	Outlook       string `json:"outlook"`
	Moves         int    `json:"moves"`
	LargestDB     Number `json:"largest_db"`
	DistanceAfter Number `json:"distance_after_db"`
}

// Warning is a finding as it is written in JSON: the code is for programs, the text for
// people.
type Warning struct {
	Code     string `json:"code"`
	Severity string `json:"severity"` // "warning", "caution" or "info", in this order
	Text     string `json:"text"`
}

// WarningsJSON returns findings as they are written in JSON; never nil.
func WarningsJSON(all finding.List) []Warning {
	warnings := []Warning{}
	for _, f := range all {
		warnings = append(warnings, Warning{f.Code(), f.Severity().String(), words.Finding(f)})
	}
	return warnings
}

// Exclusion is why a band is left out, in JSON.
type Exclusion struct {
	Code string `json:"code"`
	Text string `json:"text"`
}

// exclusionOf returns nil if a band is kept.
func exclusionOf(e match.Exclusion) *Exclusion {
	if e.Cause == match.Kept {
		return nil
	}
	return &Exclusion{e.Cause.Code(), words.Exclusion(e)}
}

// smoothingOf returns the smoothing in octaves of the document's curves: the advice's, even if
// the chart is drawn with another; for a drawn curve its own.
func smoothingOf(r *match.Result) float64 {
	if r.Mix == nil {
		return r.Options.SmoothOct
	}
	return match.AdviceSmoothOct
}

// valueAt returns a curve's value at a band, NaN if the curve is nil.
func valueAt(db []float64, band int) float64 {
	if db == nil {
		return math.NaN()
	}
	return db[band]
}

// JSON writes the result as one document, version [FindingsVersion]. [document.ReadSettings]
// reads its moves, rate and trim. The error is w's.
func JSON(w io.Writer, r *match.Result) error {
	d := documentOf(r)
	for b := range r.DifferenceDB {
		d.Curve = append(d.Curve, pointOf(r, b))
	}
	return WriteJSON(w, d)
}

// Settings writes the document of [JSON] without the curves: enough to set the moves, to send
// sound through them, and to see where they come from. [CurveCSV] has the curves.
func Settings(w io.Writer, r *match.Result) error { return WriteJSON(w, documentOf(r)) }

func documentOf(r *match.Result) matchDocument {
	d := matchDocument{
		Version:      FindingsVersion,
		RateHz:       int(math.Round(r.RateHz)),
		SmoothingOct: Number(smoothingOf(r)),
		RangeHz:      [2]Number{Number(r.Options.RangeHz[0]), Number(r.Options.RangeHz[1])},
		SolveOptions: r.SolveOptions,
		References:   []recordingDocument{}, Others: []alternativeDocument{},
		TrimDB: Number(math.Round(r.TrimDB*10) / 10), LevelDifference: Number(r.LevelDifferenceDB),
		DistanceBeforeDB: Number(r.DistanceBeforeDB), DistanceAfterDB: Number(r.DistanceAfterDB),
		Warnings: WarningsJSON(r.Warnings),
		Stage:    r.SolveOptions.Stage.String(), Outlook: r.Outlook.Code(), Headline: Headline(r), Level: "mean over the judged bands removed",
		Steps: Numbers(r.StepsDB), Sides: sidesJSON(r.Sides), Moves: MovesJSON(r.Moves),
	}
	for _, o := range r.Others {
		d.Others = append(d.Others, alternativeDocument{o.Stage.String(), o.Outlook.Code(), o.Moves, Number(o.LargestDB), Number(o.DistanceAfterDB)})
	}
	if after := r.Confirmed; after != nil {
		d.LoudnessAfter, d.TruePeakAfter = Known(after.LoudnessAfterLUFS), Known(after.TruePeakDBTP)
	}
	if name := r.SolveOptions.Equaliser.Name; name != "" {
		d.Equaliser = &name
	}
	if r.Lead != nil {
		d.LeadChange = Known(r.Lead.ChangeLU)
	}
	if r.Mix != nil {
		d.Mix = new(recordingOf(r.Mix, r.Used(0)))
	}
	for i, ref := range r.References {
		d.References = append(d.References, recordingOf(ref, r.Used(i+1)))
	}
	return d
}

// pointOf returns the curves at a band.
func pointOf(r *match.Result, b int) pointDocument {
	difference := r.DifferenceDB[b]
	return pointDocument{
		FreqHz:       Number(spectrum.CentreHz(b)),
		DifferenceDB: Number(difference),
		TargetDB:     Number(r.TargetDB[b]),
		FittedDB:     Number(r.FittedDB[b]),
		LowDB:        Known(valueAt(r.LowDB, b)), HighDB: Known(valueAt(r.HighDB, b)),
		SpreadLowDB: Known(difference - valueAt(r.ReferenceSpreadDB, b)), SpreadHighDB: Known(difference + valueAt(r.ReferenceSpreadDB, b)),
		LeftOut: exclusionOf(r.LeftOut[b]),
	}
}

// MovesJSON returns moves as they are written in JSON; never nil.
func MovesJSON(moves []match.Move) []MoveDocument {
	all := []MoveDocument{}
	for _, m := range moves {
		all = append(all, moveOf(m))
	}
	return all
}

// recordingOf returns a recording's figures; used are the passages that are compared.
func recordingOf(r *measure.Recording, used measure.Passages) recordingDocument {
	n := len(used)
	d := recordingDocument{
		File: r.Name, RateHz: r.Format.RateHz, Channels: r.Format.Channels,
		DurationS: Number(r.DurationSec), PartS: [2]Number{Number(used[0][0]), Number(used[n-1][1])},
		LoudnessLUFS: Number(r.OwnLUFS()), CutoffHz: KnownIf(r.CutoffHz > 0, r.CutoffHz),
		LoudnessRange: KnownIf(r.Valid(), r.RangeLU), TruePeak: KnownIf(r.Valid(), r.TruePeakDBTP),
	}
	for _, p := range used {
		if n > 1 {
			d.PassagesS = append(d.PassagesS, [2]Number{Number(p[0]), Number(p[1])})
		}
	}
	return d
}

func moveOf(m match.Move) MoveDocument {
	stated, why := m.Dial.Stated, m.Why
	freqIs, widthIs := document.DialWords(m.Shape, stated)
	return MoveDocument{
		Shape: m.Shape.String(), FreqHz: Number(m.FreqHz), GainDB: Number(m.GainDB),
		GainLowDB: Known(m.GainLowDB), GainHighDB: Known(m.GainHighDB),
		Q: Number(m.Q), ByHand: m.ByHand, Reason: words.Why(m), ReasonCode: why.Reason.Code(),
		BandwidthOct: KnownIf(m.Shape == biquad.Bell, biquad.BandwidthFromQ(m.Q)),
		ShelfSlope:   KnownIf(m.Shape != biquad.Bell, biquad.SlopeFromQ(m.Q, m.GainDB)),
		ReasonDB:     KnownIf(why.DB != 0, why.DB), ReasonHalf: KnownIf(why.DB != 0, why.HalfDB), ReasonSpread: KnownIf(why.DB != 0, why.OthersDB),
		Dial: dial{FreqHz: Number(m.Dial.FreqHz), FreqIs: freqIs, GainDB: Number(m.Dial.GainDB),
			Width: KnownIf(stated.Width != fit.NoWidth, m.Dial.Width), WidthIs: widthIs, WidthLaw: document.LawOf(stated)},
	}
}
