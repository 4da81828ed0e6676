package words

import (
	"fmt"
	"math"

	"toneplumb/match"
	"toneplumb/match/listen"
)

func louder(f listen.Louder) string {
	what := "It is %.1f LU louder than the mix: turn the monitors down before you play it."
	switch f.Of {
	case listen.MovesAlone:
		what = "The trim makes it %.1f dB louder: turn the monitors down before you play anything through it."
	case listen.Levelled:
		what = "It is %.1f dB louder than the recording: turn the monitors down before you play it."
	case listen.PlannedMix:
		what = "A fader goes up by %.1f dB: turn the monitors down before you play it."
	}
	return fmt.Sprintf(what, f.By)
}

func peakAfter(f listen.PeakAfter) string {
	switch f.Of {
	case listen.Levelled:
		return fmt.Sprintf("Its true peak is above %s dBTP: lower it and the mix by the same amount before you play them.", mostTruePeak)
	case listen.PlannedMix:
		return fmt.Sprintf("Its true peak is above %s dBTP: lower all tracks by the same amount.", mostTruePeak)
	}
	over := f.DBTP - match.MostTruePeakDBTP
	return fmt.Sprintf("The true peak is %s dBTP, above %s: a converter or a lossy encoder may clip it. Lower the trim to %s dB and turn up to compare, or bounce the mix %.1f dB lower.",
		FormatGain(f.DBTP), FormatGain(match.MostTruePeakDBTP), FormatGain(math.Floor((f.TrimDB-over)*10)/10), math.Ceil(over*10)/10)
}
