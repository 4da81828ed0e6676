package forms

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"toneplumb/biquad"
	"toneplumb/match/report"
	"toneplumb/match/tracks"
	"toneplumb/match/words"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
)

// namesOf lists the names of tracks.
func namesOf(a *tracks.Advice, all []int) string {
	var names []string
	for _, i := range all {
		names = append(names, report.Printable(a.Tracks[i].Name))
	}
	return words.List(names)
}

// trimsWords lists the trims of a move's tracks, in their order.
func trimsWords(x *tracks.TrackMove) string {
	var all []string
	for _, db := range x.TrimsDB {
		all = append(all, words.FormatGain(db))
	}
	return words.List(all)
}

// verdictWords says where a move belongs and why.
func verdictWords(a *tracks.Advice, m tracks.Move) string {
	name := func() string { return namesOf(a, m.On()) }
	const compared = "Second by second against the same moments of the reference"
	left := func() string { return leftWords(a, m) }
	alike := ""
	if len(m.Alike) > 0 {
		alike = fmt.Sprintf(" It moves together with %s, so the figures cannot tell them apart: listen to each.", namesOf(a, m.Alike))
	}
	switch {
	case m.Where == tracks.OnTrack && len(m.With) > 0:
		return fmt.Sprintf("Belongs on %s together. %s, %s.", name(), compared, left())
	case m.Where == tracks.OnTrack:
		return fmt.Sprintf("Belongs on %s. %s, %s.%s", name(), compared, left(), alike)
	case m.Where == tracks.Master && m.Track >= 0:
		return fmt.Sprintf("Belongs on the master. %s, %s, and no other track explains it better.", compared, left())
	case m.Where == tracks.Master:
		return "Probably on the master: no track holds enough of what it works on."
	case m.Where == tracks.Either && m.Missing():
		return fmt.Sprintf("Master or a track: too close to call, since the tracks given hold only %s %% of what it works on.", percent(max(0, 1-m.RestShare)))
	case m.Track >= 0 && m.Why.SameMoments:
		return fmt.Sprintf("Master or %s: too close to call. %s, %s.%s", name(), compared, left(), alike)
	case m.Track >= 0:
		return fmt.Sprintf("Master or a track: only the same song can tell. %s holds most of what it works on; listen to it first.", name())
	}
	return "Master or a track: too close to call."
}

// leftWords says how much a filter on the mix leaves, and how much one on the tracks of a move.
func leftWords(a *tracks.Advice, m tracks.Move) string {
	alone := m.Why.TrackDB[m.Track]
	if len(m.With) == 0 {
		return fmt.Sprintf("one filter on the mix leaves %.1f dB, one on %s alone %.1f dB", m.Why.MasterDB, namesOf(a, m.On()), alone)
	}
	return fmt.Sprintf("one filter on the mix leaves %.1f dB, one on the sum of %s %.1f dB (on %s alone %.1f dB)",
		m.Why.MasterDB, namesOf(a, m.On()), m.Why.TogetherDB, namesOf(a, []int{m.Track}), alone)
}

// trackMoveWords describes where a move on the master belongs and the move on a track. Effects
// are given as in the chart, smoothed like the difference.
func trackMoveWords(a *tracks.Advice, m tracks.Move) []string {
	all := []string{verdictWords(a, m), "Shares of what it works on: " + sharesWords(a, m) + "."}
	say := func(format string, args ...any) { all = append(all, fmt.Sprintf(format, args...)) }
	x, name := m.Instead, namesOf(a, m.On())
	switch {
	case x != nil:
		b := shownAt(m)
		say("On %s instead: %s. At %s it changes the mix by %s dB, the master move by %s dB there; over all that is judged the two curves lie %.1f dB apart (rms).",
			name, words.Setting(x.Filter), words.FormatHz(spectrum.CentreHz(b)), words.FormatGain(x.ShownDB[b]), words.FormatGain(m.ShownDB[b]), x.ApartDB)
		trims := "A trim of %s dB keeps the track as loud as it was"
		if len(x.TrimsDB) > 1 {
			trims = "Trims of %s dB keep the tracks as loud as they were"
		}
		if x.ShownTrimmedDB != nil {
			trims += fmt.Sprintf("; the mix then changes by %s dB there", words.FormatGain(x.ShownTrimmedDB[b]))
		}
		say(trims+".", trimsWords(x))
		if x.MostlyLevel {
			say("%s", mostlyLevelWords(a))
		}
	case m.Where == tracks.OnTrack:
		say("No setting of this shape on %s does half of it within the equaliser's range: listen there first, and keep the move on the master if that is not enough.", name)
	case m.Track >= 0 && !(m.Where == tracks.Either && m.Missing()):
		say("No setting of this shape on %s does half of it within the equaliser's range.", name)
	}
	if m.AgainstFront {
		say("%s is to be in front, and this cuts it there: look at the others first.", name)
	}
	if m.AgainstBack {
		say("%s is to be behind, and this lifts it there: look at the others first.", name)
	}
	return all
}

// mostlyLevelWords is said of a filter whose trim takes most of its effect away. A reference of other
// music says nothing about single faders, so there it points at none.
func mostlyLevelWords(a *tracks.Advice) string {
	if a.SameSong() {
		return "Most of this is level: try the fader first."
	}
	return "Most of this is level, and the reference is other music: whether the track is too loud or too soft only your ears can tell."
}

// pairWords describes a pair and its cut; the share of the song is written before it.
func pairWords(a *tracks.Advice, p tracks.Pair) string {
	cut, other := a.Tracks[p.Cut].Name, a.Tracks[p.A+p.B-p.Cut].Name
	why := map[tracks.CutReason]string{
		tracks.NeedsLess:      "which needs this zone less",
		tracks.StandsBack:     "which is to be behind",
		tracks.OtherFronts:    "since " + other + " is to be in front",
		tracks.PlanLowers:     "which the plan turns down there",
		tracks.PlanLiftsOther: "since the plan turns " + other + " up there",
	}[p.Reason]
	return report.Printable(fmt.Sprintf("%s: %s and %s, %s in all. To make room cut %s, %s: %s, trim %s dB.",
		a.Zones[p.Zone].Name, a.Tracks[p.A].Name, a.Tracks[p.B].Name, audio.Clock(float64(p.Seconds)), cut, why, words.Setting(p.Filter), words.FormatGain(p.TrimDB)))
}

// lowCutWords returns a sentence for each low cut.
func lowCutWords(a *tracks.Advice) (all []string) {
	for _, c := range a.LowCuts {
		all = append(all, report.Printable(fmt.Sprintf("%s: low cut at %s, 12 dB/oct. Below that lies %.2f %% of the track's own energy, which is %s %% of the mix's there. The cut changes the track by %s LU.",
			a.Tracks[c.Track].Name, words.FormatHz(c.Filter.FreqHz), 100*c.OwnShare, percent(c.MixShare), words.FormatGain(c.TrackLU))))
	}
	return all
}

// placingWords returns a sentence for each track that is brought forward or moved back.
func placingWords(a *tracks.Advice) (all []string) {
	for _, p := range a.Placings {
		where := map[bool]string{true: "forward", false: "back"}[p.Front]
		all = append(all, report.Printable(fmt.Sprintf("%s %s: %s, trim %s dB; the mix changes by %s dB there.", a.Tracks[p.Track].Name, where, words.Setting(p.Filter), words.FormatGain(p.TrimDB), words.FormatGain(p.MixDB))))
	}
	return all
}

// Headings and sentences shared by text and page.
const (
	sharesHeading   = "Each track's share of the mix, percent of the zone's power"
	changesHeading  = "What the moves on the master do to each track's loudness, LU before the trim"
	noPairs         = "no two tracks do so for a tenth of the song."
	reachedWords    = "no room is to be made, since the reference is the same song and the mix comes to it inaudibly near."
	lowCutsHeading  = "Low ends you could cut, if you hear nothing missing"
	placingsHeading = "To bring tracks forward or move them back (common practice, 2 to 8 kHz)"
	restWords       = "“No track” is processing on the master, or a missing track. Below 0 the tracks add up to more than the mix."
	earWords        = "Set a track's equaliser by ear, in the mix: these figures say where to listen. Trims keep each track as loud as it was, so that the balance stays."
)

// mostPairs is how many pairs are written; the document has all.
const mostPairs = 8

// noPairsWords returns why there are no pairs.
func noPairsWords(a *tracks.Advice) string {
	if a.Plan.Reaches() {
		return reachedWords
	}
	return noPairs
}

// pairsHeading returns the heading of the pairs. Their levels are those with a firm plan's faders set.
func pairsHeading(a *tracks.Advice) string {
	heading := "Tracks that fill the same zone at the same time, about equally strong"
	if a.PlanReplacesMoves() && len(a.Plan.Faders) > 0 {
		heading = "With the plan's faders set, tracks that fill the same zone at the same time"
	}
	return heading
}

// noMasterMoves returns why there are no moves on the master, "" if there are some or a plan stands in
// their place. Beside hints it says no more than that: there is something to do.
func noMasterMoves(a *tracks.Advice) string {
	switch {
	case a.PlanReplacesMoves():
		return ""
	case len(a.Moves) == 0 && a.Plan != nil && a.Plan.Steps() > 0:
		return "No moves on the master are advised."
	}
	return words.WhyNoMoves(a.Result)
}

// anyHeard reports whether a track is used.
func anyHeard(a *tracks.Advice) bool {
	return slices.ContainsFunc(a.Tracks, func(t tracks.Track) bool { return t.State == tracks.Heard })
}

// morePairs says how many pairs are not written, "" for none.
func morePairs(a *tracks.Advice) string {
	if n := len(a.Pairs) - mostPairs; n > 0 {
		return fmt.Sprintf("and %d more %s: the .json document has them all.", n, map[bool]string{true: "pair", false: "pairs"}[n == 1])
	}
	return ""
}

// shownAt returns the band where a move has most of its gain, or the nearest one that is judged.
func shownAt(m tracks.Move) int {
	at := tracks.BandOf(worksAtHz(m.Filter))
	for d := range len(m.ShownDB) {
		for _, b := range []int{at - d, at + d} {
			if b >= 0 && b < len(m.ShownDB) && !math.IsNaN(m.ShownDB[b]) {
				return b
			}
		}
	}
	return at
}

// worksAtHz returns a frequency where a filter has most of its gain.
func worksAtHz(f biquad.Filter) float64 {
	const topHz = 18000
	switch f.Shape {
	case biquad.LowShelf:
		return f.FreqHz / 2
	case biquad.HighShelf:
		return min(2*f.FreqHz, topHz)
	}
	return f.FreqHz
}

// sharesWords lists the largest shares where a move works.
func sharesWords(a *tracks.Advice, m tracks.Move) string {
	const most, least = 4, 0.05
	order := make([]int, len(m.Shares))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(m.Shares[j], m.Shares[i]) })
	named := 0
	for named < min(most, len(order)) && m.Shares[order[named]] >= least {
		named++
	}
	if named == 0 && m.RestShare < 0.5 { // among many tracks none may hold so much
		named = min(most, len(order))
	}
	var parts []string
	for _, i := range order[:named] {
		parts = append(parts, fmt.Sprintf("%s %s %%", report.Printable(a.Tracks[i].Name), percent(m.Shares[i])))
	}
	if rest := percent(m.RestShare); rest != "0" || len(parts) == 0 {
		parts = append(parts, fmt.Sprintf("no track %s %%", rest))
	}
	return strings.Join(parts, ", ")
}
