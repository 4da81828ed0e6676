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

// LoudnessKept says whether the trim has kept the loudness, and which trim would.
func LoudnessKept(c listen.Check, trimDB float64) string {
	text := fmt.Sprintf("Loudness: %s LUFS before, %s after", Fixed(c.LoudnessBeforeLUFS, 2, minus), Fixed(c.LoudnessAfterLUFS, 2, minus))
	if math.IsInf(c.LoudnessAfterLUFS, -1) {
		return text + ": the settings leave nothing to be heard."
	}
	change := c.ChangeLU()
	apart, side := math.Abs(change), Either(change < 0, "quieter", "louder")
	switch {
	case apart <= listen.EqualLU:
		return fmt.Sprintf("%s: equal within %.2f LU.", text, listen.EqualLU)
	case apart <= listen.RoundedLU:
		return fmt.Sprintf("%s: %.2f LU %s, no more than a trim in tenths of a dB leaves.", text, apart, side)
	}
	return fmt.Sprintf("%s: %.2f LU %s. For equal loudness set the trim to %s dB.", text, apart, side, FormatGain(trimDB-change))
}

// ReferenceLevelled says by how much a reference was brought to the mix's loudness.
func ReferenceLevelled(c listen.Check, trimDB float64) string {
	return fmt.Sprintf("The reference is written %.1f dB %s, at the mix's loudness: %s LUFS.", math.Abs(trimDB), Either(trimDB > 0, "up", "down"), Fixed(c.LoudnessAfterLUFS, 1, minus))
}

// OneIsMono is said where only one of two recordings at equal loudness is in stereo.
const OneIsMono = "One of the two has a single channel. Two loudspeakers play it 3 dB louder than its LUFS say; that is allowed for."

// HeardOf says which of several references is played.
func HeardOf(reference string) string {
	return fmt.Sprintf("Of the references %s is heard.", reference)
}

// NothingToHear is said in place of a player.
const NothingToHear = "There are no moves, and the mix alone is nothing to compare."
