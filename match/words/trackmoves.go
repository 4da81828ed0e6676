package words

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"toneplumb/match/tracks"
	"toneplumb/spectrum"
)

// trackNames lists the names of tracks.
func trackNames(a *tracks.Advice, numbers []int) string {
	var names []string
	for _, i := range numbers {
		names = append(names, trackName(a, i))
	}
	return List(names)
}

func percent(share float64) string { return Fixed(100*share, 0, minus) }

// TrackMove says where a move on the master belongs and why, and describes the move on a track. Effects
// are given as in the chart, smoothed like the difference.
func TrackMove(a *tracks.Advice, m tracks.Move) []string {
	all := []string{whereAndWhy(a, m), "Shares of what it works on: " + moveShares(a, m) + "."}
	say := func(format string, args ...any) { all = append(all, fmt.Sprintf(format, args...)) }
	x, name := m.Instead, trackNames(a, m.On())
	switch {
	case x != nil:
		b := m.ShownAt()
		say("On %s instead: %s. At %s it changes the mix by %s dB, the master move by %s dB there; over all that is judged the two curves lie %.1f dB apart (rms).",
			name, Setting(x.Filter), FormatHz(spectrum.CentreHz(b)), FormatGain(x.ShownDB[b]), FormatGain(m.ShownDB[b]), x.ApartDB)
		trims := Plural(len(x.TrimsDB), "A trim of %s dB keeps the track as loud as it was", "Trims of %s dB keep the tracks as loud as they were")
		if x.ShownTrimmedDB != nil {
			trims += fmt.Sprintf("; the mix then changes by %s dB there", FormatGain(x.ShownTrimmedDB[b]))
		}
		say(trims+".", Trims(x))
		switch { // a reference of other music says nothing about single faders, so there it points at none
		case x.MostlyLevel && a.SameSong():
			say("Most of this is level: try the fader first.")
		case x.MostlyLevel:
			say("Most of this is level, and the reference is other music: whether the track is too loud or too soft only your ears can tell.")
		}
	case m.Where == tracks.OnTrack:
		say("No setting of this shape on %s does half of it within the equaliser's range: listen there first, and keep the move on the master if that is not enough.", name)
	case m.Track >= 0 && !undecided(m):
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

// Trims lists the trims of a move's tracks, in their order.
func Trims(x *tracks.TrackMove) string {
	var all []string
	for _, db := range x.TrimsDB {
		all = append(all, FormatGain(db))
	}
	return List(all)
}

// undecided reports whether neither the master nor a track is named for a move.
func undecided(m tracks.Move) bool {
	return m.Where == tracks.Either && (m.Track < 0 || m.Missing())
}

// whereAndWhy says where a move belongs and why.
func whereAndWhy(a *tracks.Advice, m tracks.Move) string {
	name := func() string { return trackNames(a, m.On()) }
	const compared = "Second by second against the same moments of the reference"
	left := func() string { return leftOver(a, m) }
	alike := ""
	if len(m.Alike) > 0 {
		alike = fmt.Sprintf(" It moves together with %s, so the figures cannot tell them apart: listen to each.", trackNames(a, m.Alike))
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

// leftOver says how much a filter on the mix leaves, and how much one on the tracks of a move.
func leftOver(a *tracks.Advice, m tracks.Move) string {
	alone := m.Why.TrackDB[m.Track]
	if len(m.With) == 0 {
		return fmt.Sprintf("one filter on the mix leaves %.1f dB, one on %s alone %.1f dB", m.Why.MasterDB, trackNames(a, m.On()), alone)
	}
	return fmt.Sprintf("one filter on the mix leaves %.1f dB, one on the sum of %s %.1f dB (on %s alone %.1f dB)",
		m.Why.MasterDB, trackNames(a, m.On()), m.Why.TogetherDB, trackNames(a, []int{m.Track}), alone)
}

// moveShares lists the largest shares where a move works.
func moveShares(a *tracks.Advice, m tracks.Move) string {
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
		parts = append(parts, fmt.Sprintf("%s %s %%", trackName(a, i), percent(m.Shares[i])))
	}
	if rest := percent(m.RestShare); rest != "0" || len(parts) == 0 {
		parts = append(parts, fmt.Sprintf("no track %s %%", rest))
	}
	return strings.Join(parts, ", ")
}

// Belongs is what [TrackMove] says first, in a line of a table; names lists tracks as shortly as the
// table needs them.
func Belongs(a *tracks.Advice, m tracks.Move, names func(*tracks.Advice, []int) string) string {
	where := "belongs on the master"
	switch {
	case undecided(m):
		where = "master or a track: too close to call"
	case m.Where == tracks.OnTrack:
		where = "belongs on " + names(a, m.On())
	case m.Where == tracks.Either:
		where += " or " + names(a, m.On())
	case m.Track < 0:
		where = "rather " + where
	}
	x := m.Instead
	if x == nil {
		return where
	}
	if m.Where == tracks.Master {
		where += "; the nearest on a track is on " + names(a, x.Tracks)
	}
	if x.MostlyLevel {
		where += ", mostly a matter of level" + Either(a.SameSong(), "", ", which other music cannot judge")
	}
	return where
}

// Instead returns the setting of the move on a track in a line, "" if no track is named.
func Instead(m tracks.Move) string {
	switch {
	case m.Instead != nil:
		return Setting(m.Instead.Filter)
	case m.Track >= 0 && !undecided(m):
		return "no setting does half of it"
	}
	return ""
}

// NoMasterMoves returns why there are no moves on the master, "" if there are some or a plan stands in
// their place. Beside hints it says no more than that: there is something to do.
func NoMasterMoves(a *tracks.Advice) string {
	switch {
	case a.PlanReplacesMoves():
		return ""
	case len(a.Moves) == 0 && a.Plan != nil && a.Plan.Steps() > 0:
		return "No moves on the master are advised."
	}
	return WhyNoMoves(a.Result)
}
