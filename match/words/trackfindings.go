package words

import (
	"fmt"
	"math"
	"slices"

	"toneplumb/match/tracks"
)

// sentence is what is said of a kind of finding, for one track and, if the kind can be about several, for more:
// %[1]s is the tracks, %[2]s the amount, if there is one, with its direction.
type sentence struct {
	one, more string
	amount    func(float64) string
	up, down  string // the direction of amounts above 0, and of others
}

var sentences = map[tracks.FindingKind]sentence{
	tracks.IsSilent: {one: "%[1]s is silent: nothing in it is louder than −70 LUFS.", more: "%[1]s are silent: nothing in them is louder than −70 LUFS."},
	tracks.IsAbsent: {one: "%[1]s cannot be found in the mix: is it of this song, and does it start with the mix?",
		more: "%[1]s cannot be found in the mix: are they of this song, and do they start with the mix?"},
	tracks.StartsElsewhere: {"%[1]s does not start with the mix: it seems %[2]s, and is not counted. Bounce it from the start of the mix.",
		"%[1]s do not start with the mix: they seem %[2]s, and are not counted. Bounce them from the start of the mix.",
		func(sec float64) string { return "about " + lagWords(sec) }, "late", "early"},
	tracks.IsTheMix:    {one: "%[1]s is the whole mix: name single tracks of it."},
	tracks.IsBelowGate: {one: "%[1]s sounds only where the mix is too soft to count.", more: "%[1]s sound only where the mix is too soft to count."},
	tracks.IsTooBrief: {"%[1]s sounds too briefly to be found in the mix, and is taken %[2]s.", "%[1]s sound too briefly to be found in the mix, and are taken %[2]s.",
		decibels, "louder, as the others stand", "softer, as the others stand"},
	tracks.IsDelayed: {"%[1]s fits better %[2]s: bounce it from the start of the mix, with plug-in delay compensated.",
		"%[1]s fit better %[2]s: bounce them from the start of the mix, with plug-in delay compensated.", lagWords, "earlier", "later"},
	tracks.IsShifted: {"%[1]s is %[2]s in its file; it was shifted into time for this.", "%[1]s are %[2]s in their files; they were shifted into time for this.",
		lagWords, "late", "early"},
	tracks.IsInverted: {one: "%[1]s has its polarity inverted in the mix, and is counted so.", more: "%[1]s have their polarity inverted in the mix, and are counted so."},
	tracks.HasOtherLevel: {"%[1]s is %[2]s in the mix than in its file, and is counted so: a fader, or an equaliser on the master.",
		"%[1]s are %[2]s in the mix than in their files, and are counted so: faders, or an equaliser on the master.", decibels, "louder", "softer"},
	tracks.IsLonger: {"%[1]s is %[2]s than the mix: what comes after the mix's end is left out.",
		"%[1]s are %[2]s than the mix: what comes after the mix's end is left out.", wholeSeconds, "longer", "longer"},
	tracks.IsShorter: {"%[1]s ends %[2]s the mix: it is silent from there.", "%[1]s end %[2]s the mix: they are silent from there.", wholeSeconds, "before", "before"},
}

func decibels(db float64) string      { return fmt.Sprintf("%.1f dB", math.Abs(db)) }
func wholeSeconds(sec float64) string { return fmt.Sprintf("%.0f s", sec) }

// TrackFindings returns one text for each of a.Findings, in their order. A track's name begins one as
// it is written.
func TrackFindings(a *tracks.Advice) []string {
	var all []string
	for i := range a.Findings {
		all = append(all, ofTracks(a, &a.Findings[i]))
	}
	return all
}

func ofTracks(a *tracks.Advice, f *tracks.Finding) string {
	var names []string
	for _, i := range f.Tracks {
		names = append(names, a.Tracks[i].Name)
	}
	n := len(names)
	switch f.Kind {
	case tracks.DecoderSays:
		return fmt.Sprintf("%s: %s.", List(names), Remark(f.Remark))
	case tracks.NotAmongTracks:
		return fmt.Sprintf("Not among the tracks: %.0f %% of the mix, mostly around %s. A track is missing, or the master does more than an equaliser.", 100*f.Amounts[0], FormatHz(f.FreqHz))
	case tracks.OnMaster:
		return fmt.Sprintf("The mix is the tracks' sum through an equaliser on the master, %s dB around %s where it does most. Moves on the master come on top of it; bounce the mix without it for exact faders.", FormatGain(f.Amounts[0]), FormatHz(f.FreqHz))
	case tracks.LevelMoves:
		return fmt.Sprintf("The mix's level moves by %.1f dB against the tracks' sum, as behind a compressor. It would react to every fader: bounce the mix without it for exact gains.", f.Amounts[0])
	case tracks.IsDuplicate:
		return fmt.Sprintf("%s "+Plural(n, "is the same sound as %s: it is", "are the same sound as %s: they are")+" counted once.", List(names), a.Tracks[f.Other].Name)
	}
	said := sentences[f.Kind]
	way := Either(f.Up(), said.up, said.down)
	if f.Kind == tracks.IsTooBrief && math.Abs(f.Amounts[0]) < 1e-9 {
		said.amount, way = nil, Plural(n, "as it is given", "as they are given")
	}
	each := make([]string, n)
	for i, amount := range f.Amounts {
		if said.amount != nil {
			each[i] = said.amount(amount)
		}
	}
	alike := len(slices.Compact(slices.Clone(each))) == 1
	if !alike {
		for i := range names {
			names[i] += " (" + each[i] + ")"
		}
	} else if each[0] != "" {
		way = each[0] + " " + way
	}
	who := List(names)
	if n > 2 && n == len(a.Tracks) && alike {
		who = fmt.Sprintf("All %d tracks", n)
	}
	if n == 1 || said.more == "" {
		return fmt.Sprintf(said.one, who, way)
	}
	return fmt.Sprintf(said.more, who, way)
}

// lagWords returns a time in seconds, or in milliseconds below a second.
func lagWords(sec float64) string {
	switch sec = math.Abs(sec); {
	case sec < 0.0001: // a few frames
		return fmt.Sprintf("%.2f ms", 1000*sec)
	case sec < 1:
		return fmt.Sprintf("%.1f ms", 1000*sec)
	}
	return fmt.Sprintf("%.0f s", sec)
}
