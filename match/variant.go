package match

import (
	"fmt"

	"toneplumb/biquad"
	"toneplumb/match/document"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// Variant numbers the worksheets made of one mix, so that neighbours in a class get different
// ones. 0 and 1 are the mix itself; the others sound as somebody else might have left it.
// The methods panic above [MostVariants].
type Variant int

// MostVariants is the number of variants.
const MostVariants = Variant(len(variants))

// variants holds the filters of each variant. Our choice: faults of a size that a rough mix has
// (2 to 6 dB rms), each variant in other zones.
var variants = [...][]biquad.Filter{
	nil,
	{{Shape: biquad.LowShelf, FreqHz: 125, GainDB: -4, Q: biquad.QFromSlope(0.7, -4)}, {Shape: biquad.Bell, FreqHz: 2500, GainDB: 4.5, Q: 0.8}},
	{{Shape: biquad.Bell, FreqHz: 315, GainDB: 5, Q: 0.8}, {Shape: biquad.HighShelf, FreqHz: 5000, GainDB: -4, Q: biquad.QFromSlope(0.7, -4)}},
}

// Moves returns the filters that make this variant of the mix; nil for 0 and 1.
func (v Variant) Moves() []biquad.Filter { return variants[max(v, 1)-1] }

// Of returns the mix of this variant; the mix itself for 0 and 1. It returns an [*audio.Error] if
// the filters do not fit below half the mix's sample rate.
func (v Variant) Of(mix *measure.Recording) (*measure.Recording, error) {
	if v.Moves() == nil {
		return mix, nil
	}
	s := document.Settings{RateHz: float64(mix.Format.RateHz), Moves: v.Moves()}
	for _, f := range s.Moves {
		if err := f.Check(s.RateHz); err != nil {
			return nil, &audio.Error{Kind: finding.DoesNotFit, Path: mix.Path, Problem: fmt.Sprintf("has no variant %d: %s", v, err), Hint: "choose another variant, or bounce the mix at a usual rate, such as 44.1 or 48 kHz"}
		}
	}
	return mix.Through(s.PowerGain()), nil
}

// Findings returns a finding that describes the variant, for the solution; none for 0 and 1.
func (v Variant) Findings() finding.List {
	if v.Moves() == nil {
		return nil
	}
	return finding.List{OtherMix{v, v.Moves()}}
}

// OtherMix says that the mix was filtered by Moves before it was judged, for a worksheet.
type OtherMix struct {
	Variant Variant
	Moves   []biquad.Filter
}

func (OtherMix) Code() string               { return "variant" }
func (OtherMix) Severity() finding.Severity { return finding.Warning }
