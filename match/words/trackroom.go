package words

import (
	"fmt"

	"toneplumb/match/tracks"
	"toneplumb/spectrum/audio"
)

// What is said of every set of tracks.
const (
	NoTrack = "“No track” is processing on the master, or a missing track. Below 0 the tracks add up to more than the mix."
	ByEar   = "Set a track's equaliser by ear, in the mix: these figures say where to listen. Trims keep each track as loud as it was, so that the balance stays."
)

// Pair describes a pair of tracks and its cut; the share of the song is written before it.
func Pair(a *tracks.Advice, p tracks.Pair) string {
	cut, other := trackName(a, p.Cut), trackName(a, p.A+p.B-p.Cut)
	why := map[tracks.CutReason]string{
		tracks.NeedsLess:      "which needs this zone less",
		tracks.StandsBack:     "which is to be behind",
		tracks.OtherFronts:    "since " + other + " is to be in front",
		tracks.PlanLowers:     "which the plan turns down there",
		tracks.PlanLiftsOther: "since the plan turns " + other + " up there",
	}[p.Reason]
	return fmt.Sprintf("%s: %s and %s, %s in all. To make room cut %s, %s: %s, trim %s dB.",
		a.Zones[p.Zone].Name, trackName(a, p.A), trackName(a, p.B), audio.Clock(float64(p.Seconds)), cut, why, Setting(p.Filter), FormatGain(p.TrimDB))
}

// NoPairs returns why there are no pairs, to follow their heading.
func NoPairs(a *tracks.Advice) string {
	if a.Plan.Reaches() {
		return "no room is to be made, since the reference is the same song and the mix comes to it inaudibly near."
	}
	return "no two tracks do so for a tenth of the song."
}

// LowCuts returns a sentence for each low cut.
func LowCuts(a *tracks.Advice) (all []string) {
	for _, c := range a.LowCuts {
		all = append(all, fmt.Sprintf("%s: low cut at %s, 12 dB/oct. Below that lies %.2f %% of the track's own energy, which is %s %% of the mix's there. The cut changes the track by %s LU.",
			trackName(a, c.Track), FormatHz(c.Filter.FreqHz), 100*c.OwnShare, percent(c.MixShare), FormatGain(c.TrackLU)))
	}
	return all
}

// Placings returns a sentence for each track that is brought forward or moved back.
func Placings(a *tracks.Advice) (all []string) {
	for _, p := range a.Placings {
		all = append(all, fmt.Sprintf("%s %s: %s, trim %s dB; the mix changes by %s dB there.",
			trackName(a, p.Track), Either(p.Front, "forward", "back"), Setting(p.Filter), FormatGain(p.TrimDB), FormatGain(p.MixDB)))
	}
	return all
}
