package listen

import (
	"toneplumb/match"
	"toneplumb/match/document"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
)

// Written is what is written.
type Written uint8

const (
	MovedMix   Written = iota // through settings
	MovesAlone                // their impulse response
	Levelled                  // a reference at the mix's loudness
	PlannedMix                // with the plan of its single tracks
)

// Louder: what is written is much louder than what it is made of; of a plan, a track.
type Louder struct {
	By float64 // LU of a mix through settings, else dB
	Of Written
}

func (Louder) Code() string               { return "louder" }
func (Louder) Severity() finding.Severity { return finding.Warning }

// muchLouderLU is what one is warned of before playing it. Our choice: 6 dB is twice the
// sound pressure.
const muchLouderLU = 6

// DesignedAnew: the moves were chosen at another sample rate than they are designed at.
type DesignedAnew struct{ FromHz, AtHz float64 }

func (DesignedAnew) Code() string               { return "designed-anew" }
func (DesignedAnew) Severity() finding.Severity { return finding.Info }

// WrittenAsFloat: the samples that were wanted would clip.
type WrittenAsFloat struct {
	Wanted audio.Depth
	Frames int64 // that would clip
}

func (WrittenAsFloat) Code() string               { return "written-as-float" }
func (WrittenAsFloat) Severity() finding.Severity { return finding.Info }

// PeakAfter: the true peak of what is written is above [match.MostTruePeakDBTP].
type PeakAfter struct {
	DBTP, TrimDB float64 // the trim of settings
	Of           Written
}

func (PeakAfter) Code() string               { return "peak-after" }
func (PeakAfter) Severity() finding.Severity { return finding.Warning }

// Findings says what to watch out for in a mix that is written through its settings. With
// sound its samples are written, else only the impulse response.
func (p *Plan) Findings(s *document.Settings, sound bool) finding.List {
	all := louder(p.Check.ChangeLU(), MovedMix).With(designedAnew(s, p.Format.RateHz)...)
	return all.With(p.written(MovedMix, s.TrimDB, sound)...)
}

// LevelledFindings is Findings for a reference that is written at the mix's loudness, gainDB
// louder than it was.
func (p *Plan) LevelledFindings(gainDB float64) finding.List {
	return louder(gainDB, Levelled).With(p.written(Levelled, 0, true)...)
}

// PlannedFindings is Findings for a mix with the plan of its single tracks, in which one fader
// goes up by this many dB at most.
func (p *Plan) PlannedFindings(faderDB float64) finding.List {
	return louder(faderDB, PlannedMix).With(p.written(PlannedMix, 0, true)...)
}

// louder returns a finding if what is written is so much louder that it has to be said.
func louder(by float64, of Written) finding.List {
	if by <= muchLouderLU {
		return nil
	}
	return finding.List{Louder{by, of}}
}

// written is what the samples and peaks of a file give to say.
func (p *Plan) written(of Written, trimDB float64, sound bool) finding.List {
	var all finding.List
	if sound && p.Depth != p.Wanted {
		all = append(all, WrittenAsFloat{p.Wanted, p.Check.Clipped})
	}
	if p.Check.TruePeakAfterDBTP > match.MostTruePeakDBTP {
		all = append(all, PeakAfter{p.Check.TruePeakAfterDBTP, trimDB, of})
	}
	return all
}

// ImpulseFindings says what to watch out for in an impulse response.
func ImpulseFindings(s *document.Settings, rateHz int) finding.List {
	return louder(s.TrimDB, MovesAlone).With(designedAnew(s, rateHz)...)
}

func designedAnew(s *document.Settings, rateHz int) finding.List {
	if s.RateHz == float64(rateHz) || len(s.Moves) == 0 {
		return nil
	}
	return finding.List{DesignedAnew{s.RateHz, float64(rateHz)}}
}
