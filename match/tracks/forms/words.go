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

// namesOf lists tracks.
func namesOf(a *tracks.Advice, all []int) string {
	var names []string
	for _, i := range all {
		names = append(names, report.Printable(a.Tracks[i].Name))
	}
	return words.List(names)
}

// trimsWords are the trims of a move's tracks, in their order.
func trimsWords(x *tracks.TrackMove) string {
	var all []string
	for _, db := range x.TrimsDB {
		all = append(all, words.FormatGain(db))
	}
	return words.List(all)
}

// verdictWords say where a move belongs and why.
func verdictWords(a *tracks.Advice, m tracks.Move) string {
	name := func() string { return namesOf(a, m.On()) }
	compared := "Second by second against the same moments of the reference"
	if !m.Why.SameMoments {
		compared = "By how these levels run through both songs"
	}
	left := func() string { return leftWords(a, m) }
	alike := ""
	if len(m.Alike) > 0 {
		alike = fmt.Sprintf(" It moves together with %s, so the figures cannot tell them apart: listen to each.", namesOf(a, m.Alike))
	}
	switch {
	case m.Where == tracks.OnTrack && len(m.With) > 0:
		return fmt.Sprintf("Belongs on %s together. %s, %s.", name(), compared, left())
	case m.Where == tracks.OnTrack && !m.Why.SameMoments:
		return fmt.Sprintf("Rather on %s, a hint: the reference is another piece of music. %s, %s.", name(), compared, left())
	case m.Where == tracks.OnTrack:
		return fmt.Sprintf("Belongs on %s. %s, %s.%s", name(), compared, left(), alike)
	case m.Where == tracks.Master && m.Track >= 0 && !m.Why.SameMoments:
		return fmt.Sprintf("Rather on the master, a hint: the reference is another piece of music. %s, %s.", compared, left())
	case m.Where == tracks.Master && m.Track >= 0:
		return fmt.Sprintf("Belongs on the master. %s, %s, and no other track explains it better.", compared, left())
	case m.Where == tracks.Master:
		return "Rather on the master: no track holds enough of what it works on."
	case m.Where == tracks.Either && m.Missing():
		return fmt.Sprintf("Master or a track: the tracks given hold %s %% of what it works on, too little to tell.", percent(max(0, 1-m.RestShare)))
	case m.Track >= 0 && m.Why.SameMoments:
		return fmt.Sprintf("Master or %s: the seconds do not tell. %s, %s.%s", name(), compared, left(), alike)
	case m.Track >= 0:
		return fmt.Sprintf("Master or a track: the songs are too unlike to tell. %s holds most of what it works on; listen to it first.", name())
	}
	return "Master or a track: too little runs alike to tell."
}

// leftWords say how much a filter on the mix leaves, and how much one on the tracks of a move.
func leftWords(a *tracks.Advice, m tracks.Move) string {
	alone := m.Why.TrackDB[m.Track]
	if len(m.With) == 0 {
		return fmt.Sprintf("one filter on the mix leaves %.1f dB, one on %s alone %.1f dB", m.Why.MasterDB, namesOf(a, m.On()), alone)
	}
	return fmt.Sprintf("one filter on the mix leaves %.1f dB, one on the sum of %s %.1f dB (on %s alone %.1f dB)",
		m.Why.MasterDB, namesOf(a, m.On()), m.Why.TogetherDB, namesOf(a, []int{m.Track}), alone)
}

// trackMoveWords say of one move on the master where it belongs, beside the move on a track.
// What moves change is told as the chart draws it, smoothed as the difference is.
func trackMoveWords(a *tracks.Advice, m tracks.Move) []string {
	all := []string{verdictWords(a, m), "Where it works: " + sharesWords(a, m) + "."}
	say := func(format string, args ...any) { all = append(all, fmt.Sprintf(format, args...)) }
	x, name := m.Instead, namesOf(a, m.On())
	switch {
	case x != nil:
		b := shownAt(m)
		say("On %s instead: %s. At %s it changes the mix by %s dB, the master move by %s dB; the two curves lie %.1f dB apart.",
			name, tracks.SettingWords(x.Filter), words.FormatHz(spectrum.CentreHz(b)), words.FormatGain(x.ShownDB[b]), words.FormatGain(m.ShownDB[b]), x.ApartDB)
		trims := "A trim of %s dB keeps the track as loud as it was"
		if len(x.TrimsDB) > 1 {
			trims = "Trims of %s dB keep the tracks as loud as they were"
		}
		if x.ShownTrimmedDB != nil {
			trims += fmt.Sprintf("; the mix then changes by %s dB there", words.FormatGain(x.ShownTrimmedDB[b]))
		}
		say(trims+".", trimsWords(x))
		if x.MostlyLevel {
			say("Most of what it does is a matter of level: try the fader first.")
		}
	case m.Where == tracks.OnTrack:
		say("No setting of this shape on %s does half of it within the equaliser's range: listen there first, and keep the move on the master if that is not enough.", name)
	case m.Track >= 0 && !(m.Where == tracks.Either && m.Missing()):
		say("No setting of this shape on %s does half of it within the equaliser's range.", name)
	}
	if m.AgainstFront {
		say("%s is to stand in front, and this takes from it there: look at the others first.", name)
	}
	if m.AgainstBack {
		say("%s is to stand behind, and this adds to it there: look at the others first.", name)
	}
	return all
}

// pairWords say who is in whose way, after the share of the song.
func pairWords(a *tracks.Advice, p tracks.Pair) string {
	cut, other := a.Tracks[p.Cut].Name, a.Tracks[p.A+p.B-p.Cut].Name
	why := map[tracks.CutReason]string{
		tracks.NeedsLess:   "which has less of its own energy there",
		tracks.StandsBack:  "which is to stand behind",
		tracks.OtherFronts: "since " + other + " is to stand in front",
	}[p.Reason]
	return report.Printable(fmt.Sprintf("%s: %s and %s, %s in all. To make room cut %s, %s: %s, trim %s dB.",
		a.Zones[p.Zone].Name, a.Tracks[p.A].Name, a.Tracks[p.B].Name, audio.Clock(float64(p.Seconds)), cut, why, tracks.SettingWords(p.Filter), words.FormatGain(p.TrimDB)))
}

func lowCutWords(a *tracks.Advice, c tracks.LowCut) string {
	return report.Printable(fmt.Sprintf("%s: low cut at %s, 12 dB/oct. Below it the track holds %.2f %% of its own energy, and %s %% of what the mix has there; the cut changes it by %s LU.",
		a.Tracks[c.Track].Name, words.FormatHz(c.Filter.FreqHz), 100*c.OwnShare, percent(c.MixShare), words.FormatGain(c.TrackLU)))
}

func placingWords(a *tracks.Advice, p tracks.Placing) string {
	where := map[bool]string{true: "forward", false: "back"}[p.Front]
	return report.Printable(fmt.Sprintf("%s %s: %s, trim %s dB; the mix changes by %s dB there.", a.Tracks[p.Track].Name, where, tracks.SettingWords(p.Filter), words.FormatGain(p.TrimDB), words.FormatGain(p.MixDB)))
}

// Headings and sentences that text and page share.
const (
	sharesHeading   = "Each track's share of the mix, percent of the zone's power"
	changesHeading  = "What the moves on the master do to each track's loudness, LU before the trim"
	pairsHeading    = "In one zone at the same time, near-equal in energy"
	noPairs         = "no two tracks for a tenth of the song."
	lowCutsHeading  = "Low ends that may go, if nobody misses them by ear"
	placingsHeading = "Front and back, by common practice between 2 and 8 kHz"
	restWords       = "What no track holds is processing on the master, or a track that is missing; below 0 the tracks hold more than the mix."
	earWords        = "A track's equaliser is set by ear, in the mix: these figures say where to listen. Trims keep each track's own loudness, so that the balance stays."
)

// mostPairs are told; the document has all.
const mostPairs = 8

// anyHeard tells whether a track counts.
func anyHeard(a *tracks.Advice) bool {
	return slices.ContainsFunc(a.Tracks, func(t tracks.Track) bool { return t.State == tracks.Heard })
}

// morePairs says how many are not told, "" for none.
func morePairs(a *tracks.Advice) string {
	if n := len(a.Pairs) - mostPairs; n > 0 {
		return fmt.Sprintf("and %d more %s in the document (--json).", n, map[bool]string{true: "pair", false: "pairs"}[n == 1])
	}
	return ""
}

// shownAt is the band where a move has most of its gain, or the nearest to it of those that are judged.
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

// worksAtHz is a frequency where a filter has most of its gain.
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

// sharesWords are the largest shares where a move works.
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
