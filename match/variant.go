package match

import (
	"toneplumb/biquad"
	"toneplumb/match/document"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// Variant is which of several worksheets is made of one mix, so that neighbours have different
// ones: 1, or 0, is the mix as it is, the others are other mixes of it, as somebody else might
// have left it.
type Variant int

// MostVariants is how many there are.
const MostVariants = Variant(len(variants))

// variants are what the other mixes have gone through. Our choice: faults of a size that a rough
// mix has (2 to 6 dB), in other zones each.
var variants = [...][]biquad.Filter{
	nil,
	{{Shape: biquad.LowShelf, FreqHz: 125, GainDB: -4, Q: biquad.QFromSlope(0.7, -4)}, {Shape: biquad.Bell, FreqHz: 2500, GainDB: 4.5, Q: 0.8}},
	{{Shape: biquad.Bell, FreqHz: 315, GainDB: 5, Q: 0.8}, {Shape: biquad.HighShelf, FreqHz: 5000, GainDB: -4, Q: biquad.QFromSlope(0.7, -4)}},
}

// Moves returns what the mix is taken to have gone through, nil for the mix as it is.
func (v Variant) Moves() []biquad.Filter { return variants[max(v, 1)-1] }

// Of returns the mix of this variant; the mix itself for 0 and 1.
func (v Variant) Of(mix *measure.Recording) *measure.Recording {
	if v.Moves() == nil {
		return mix
	}
	return mix.Through((&document.Settings{RateHz: float64(mix.Format.RateHz), Moves: v.Moves()}).PowerGain())
}

// Findings says what a variant is, for whoever has the solution; nothing for the mix as it is.
func (v Variant) Findings() finding.List {
	if v.Moves() == nil {
		return nil
	}
	return finding.List{OtherMix{v, v.Moves()}}
}

// OtherMix: the mix was judged as if it had gone through moves, for a worksheet.
type OtherMix struct {
	Variant Variant
	Moves   []biquad.Filter
}

func (OtherMix) Code() string               { return "variant" }
func (OtherMix) Severity() finding.Severity { return finding.Warning }
