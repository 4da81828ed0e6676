package words

import (
	"fmt"
	"math"
	"strings"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/listen"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
)

// Findings returns one text for each finding, in their order; never nil.
func Findings(all finding.List) []string {
	texts := []string{}
	for _, f := range all {
		texts = append(texts, Finding(f))
	}
	return texts
}

// Finding returns a finding in one or two sentences; of a probe in a clause. It has none for a [tracks.Finding], which
// has no names: [TrackFindings] has those. It panics on a type it has no sentence for: TestEveryKindIsWorded finds those.
func Finding(f finding.Finding) string {
	for _, say := range []func(finding.Finding) string{ofFiles, ofReferences, ofMoves, ofSound, ofPrints} {
		if text := say(f); text != "" {
			return text
		}
	}
	panic(fmt.Sprintf("words: no sentence for %T %+v", f, f))
}

// ofFiles returns a finding that is about a recording, "" for any other.
func ofFiles(f finding.Finding) string {
	switch f := f.(type) {
	case match.TruePeak:
		return fmt.Sprintf("The mix's true peak is %s dBTP. EBU R 128 allows %s dBTP at most, and lossy coding may raise it.", FormatGain(f.DBTP), mostTruePeak)
	case match.Swapped:
		return fmt.Sprintf("The mix is %.1f LU louder than %s: are the two swapped?", f.LU, References(f.References))
	case match.FileRemark:
		if f.Sides == nil {
			return UpperFirst(Remark(f.Remark)) + "."
		}
		return UpperFirst(Sides(f.Sides)) + ": " + Remark(f.Remark) + "."
	case match.MoreFileRemarks:
		return fmt.Sprintf("%d more %s on the reference files; measure lists them.", f.Count, Plural(f.Count, "remark", "remarks"))
	case match.ShortMusic:
		return shortMusic(f)
	case match.Clipped:
		return fmt.Sprintf("The mix is clipped in %d places: three samples or more in a row stay at full scale. No equaliser takes that out.", f.Places)
	case match.Mono:
		so := "nothing is said about stereo width."
		if left := f.Sides[0].Of - len(f.Sides); left > 0 && !f.Sides[0].IsMix() {
			so = "stereo width is compared with " + Plural(left, "the other alone.", "the others alone.")
		}
		return fmt.Sprintf("%s %s mono, so %s", UpperFirst(Sides(f.Sides)), Plural(len(f.Sides), "is", "are"), so)
	case match.Mastered:
		return fmt.Sprintf("%s %s probably mastered: peaks are %.1f dB above the loudness, the mix's %.1f dB. By common practice a gap over %d dB suggests a limiter. Part of the difference at the low end and the top may be its work.",
			UpperFirst(References(f.References)), Plural(f.References, "was", "were"), f.ReferenceDB, f.MixDB, match.MasteredDB)
	case match.FarApart:
		text := fmt.Sprintf("%.1f dB apart is farther than nine in ten pairs of songs by one maker are (%.1f dB).", f.ApartDB, match.UsuallyWithinDB)
		if f.Headed {
			return text
		}
		return text + " Unless the mix itself is that far off, choose " + Plural(f.References, "another reference.", "other references.")
	case match.MissingLows:
		return missingLows(f)
	case match.LowPass:
		return lowPass(f)
	case match.PartCounts:
		return partCounts(f)
	}
	return ""
}

// ofReferences returns a finding that is about which references to use, "" for any other.
func ofReferences(f finding.Finding) string {
	switch f := f.(type) {
	case match.MixItself:
		return named(f.Named, "is the mix itself, so it is no reference.", "are the mix itself, so they are no references.")
	case match.OwnSong:
		return named(f.Named, "is the mix's own song: the difference is processing, not another record.", "are the mix's own song: the difference is processing, not another record.")
	case match.OddRecommended:
		return fmt.Sprintf("%s makes most of the spread of the three to use: %.1f dB from the mean of the other two. Those are %.1f dB apart: listen whether it belongs with them.", f.Name, f.DistanceDB, f.OthersDB)
	case match.JudgedShort:
		upTo := "up to " + FormatHz(f.LeastHz)
		if end := FormatHz(f.MostHz); end != FormatHz(f.LeastHz) {
			upTo += " to " + end
		}
		return named(f.Named, "is judged only "+upTo+".", "are judged only "+upTo+".")
	case match.OddReference:
		return fmt.Sprintf("Reference %d makes most of the references' spread: %.1f dB from the mean of the others, which lie within %.1f dB. Does it belong here?", f.Index+1, f.DistanceDB, f.OthersDB)
	}
	return ""
}

// ofMoves returns a finding that is about the moves, "" for any other.
func ofMoves(f finding.Finding) string {
	switch f := f.(type) {
	case match.TrimLowered:
		return fmt.Sprintf("The trim is %.1f dB below equal loudness: with more the true peak would be %s dBTP. To compare, play the mix without the moves %.1f dB lower.",
			f.LowerDB, FormatGain(f.DBTP), f.LowerDB)
	case match.PreviousMoves:
		return previousMoves(f)
	case match.NoTrace:
		return fmt.Sprintf("The mix shows no trace of the moves of %s: was the equaliser on when it was bounced? If not, the advice here takes away what was never there.", f.Name)
	case match.OtherMix:
		return fmt.Sprintf("This is variant %d of a worksheet. The mix is taken as if through %s.", f.Variant, throughMoves(f.Moves))
	case match.WiderApart:
		return fmt.Sprintf("The moves leave the mix farther from %s: %.2f dB, against %.2f dB without them.", References(f.References), f.AfterDB, f.BeforeDB)
	case match.StandsOut:
		return fmt.Sprintf("%s %s from most songs: the %s %s %.0f dB %s. Less of that is followed.", UpperFirst(References(f.References)),
			Plural(f.References, "stands out", "stand out"), f.Name, Either(isPlural(f.Zone), "are", "is"), math.Abs(f.DB), Either(f.DB > 0, "stronger", "weaker"))
	case match.LargeMoves:
		return theseMoves(f.Moves) + Plural(len(f.Moves), " is", " are") + " more than a master bus usually takes: look at the balance and single tracks first."
	case match.AddUp:
		return fmt.Sprintf("The moves add up to %s dB around %s, more than any of them has.", FormatGain(f.DB), FormatHz(f.Hz))
	case match.ReachesOut:
		return fmt.Sprintf("%s %s nothing is judged, yet the moves do %s dB there: listen to that first.", Either(f.Above, "Above", "Below"), FormatHz(f.Hz), FormatGain(f.DB))
	case match.VoiceMoves:
		return theseMoves(f.Moves) + Plural(len(f.Moves), " works", " work") + " where voices are: if there is one, set its level first."
	case match.TopMoves:
		return theseMoves(f.Moves) + ": equalisers differ near the top; check by ear."
	}
	return ""
}

// ofSound returns a finding that is about sound that was written, "" for any other.
func ofSound(f finding.Finding) string {
	switch f := f.(type) {
	case listen.Louder:
		return louder(f)
	case listen.DesignedAnew:
		return fmt.Sprintf("The moves were chosen at %g kHz and are designed anew at %g kHz. They keep frequency, gain and Q, and differ a little near the top.", f.FromHz/1000, f.AtHz/1000)
	case listen.WrittenAsFloat:
		return fmt.Sprintf("As %s it would clip in %s: it is written as 32-bit float instead, which holds them.", f.Wanted, Count(int(f.Frames), "frame"))
	case listen.PeakAfter:
		return peakAfter(f)
	}
	return ""
}

// mostTruePeak is match.MostTruePeakDBTP as it is printed.
var mostTruePeak = fmt.Sprintf(minus+"%d", -match.MostTruePeakDBTP)

// throughMoves returns "a bell +5.0 dB at 315 Hz and a high shelf −4.0 dB at 5 kHz".
func throughMoves(moves []biquad.Filter) string {
	var all []string
	for _, m := range moves {
		all = append(all, fmt.Sprintf("a %s %s dB at %s", Shape(m.Shape), FormatGain(m.GainDB), FormatHz(m.FreqHz)))
	}
	return List(all)
}

// theseMoves returns "Move 2" or "Moves 1, 3 and 4".
func theseMoves(numbers []int) string {
	return Plural(len(numbers), "Move ", "Moves ") + Numbers(numbers)
}

func shortMusic(f match.ShortMusic) string {
	long, most := span(f.Sec, audio.Clock)
	if most != long {
		long += " to " + most
	}
	who := UpperFirst(Sides(sidesOf(f.Sec)))
	if len(f.Sec) == 1 {
		return fmt.Sprintf("%s holds only %s of music: its tone is that of a phrase, not of a song.", who, long)
	}
	return fmt.Sprintf("%s hold only %s of music each: their tone is that of phrases, not of songs.", who, long)
}

func lowPass(f match.LowPass) string {
	least, most := span(f.Hz, FormatHz)
	at := "at " + least
	if most != least {
		at = "between " + least + " and " + most
	}
	text := fmt.Sprintf("%s %s %s, as lossy files do", UpperFirst(Sides(sidesOf(f.Hz))), Plural(len(f.Hz), "stops", "stop"), at)
	if f.JudgedToHz > 0 {
		text += fmt.Sprintf("; nothing above %s is judged", FormatHz(f.JudgedToHz))
	}
	return text + "."
}

func missingLows(f match.MissingLows) string {
	const nothingDB = 40 // our choice: beyond it there is no sound worth mentioning
	who, other := "the mix has", References(f.References)
	if !f.OfMix {
		who, other = References(f.References)+Plural(f.References, " has", " have"), "the mix"
	}
	amount := fmt.Sprintf("%.0f dB less than %s", f.LessDB, other)
	if f.LessDB > nothingDB {
		amount = "nothing"
	}
	text := fmt.Sprintf("Below %s %s %s", FormatHz(f.BelowHz), who, amount)
	if f.OfMix {
		return text + ". An equaliser cannot bring back what is missing: look at kick and bass."
	}
	return text + ": left out there and just above."
}

func partCounts(f match.PartCounts) string {
	if f.SameSong {
		f.SameSong = false
		return partCounts(f) + " Of the same song, only moments that count in both recordings are compared."
	}
	part := Plural(len(f.Sides), "this part", "these parts")
	if f.Loudest {
		part = Plural(len(f.Sides), "the loudest part", "the loudest parts")
	}
	if len(f.Sides) > mostNamed {
		if f.Loudest {
			return fmt.Sprintf("Only %s of %s count, %s of each.", part, Sides(f.Sides), audio.Clock(f.Sec))
		}
		return fmt.Sprintf("Only this part of %s counts: %s.", Sides(f.Sides), f.Passages[0])
	}
	if len(f.Sides) == 1 {
		together := ""
		if p := f.Passages[0]; len(p) > 1 {
			together = fmt.Sprintf(" (%s together)", audio.Clock(p.Sec()+0.5))
		}
		return fmt.Sprintf("Only %s of %s counts: %s%s.", part, Side(f.Sides[0]), f.Passages[0], together)
	}
	var each []string
	for i, s := range f.Sides {
		each = append(each, fmt.Sprintf("%s of %s", f.Passages[i], Side(s)))
	}
	return fmt.Sprintf("Only %s count: %s.", part, strings.Join(each, "; "))
}

func previousMoves(f match.PreviousMoves) string {
	if math.IsNaN(f.DistanceDB) {
		return fmt.Sprintf("Taken as bounced through the moves of %s, and judged without them.", f.Name)
	}
	text := fmt.Sprintf("Taken as bounced through the moves of %s: %.2f dB apart with them.", f.Name, f.DistanceDB)
	switch f.Use {
	case match.Held:
		return text + " New moves would gain too little to be worth dialling."
	case match.TakenAway:
		return text + " It is judged without them."
	}
	return text + " Dial the moves here instead of those."
}
