package class

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"toneplumb/match"
	"toneplumb/match/report"
	"toneplumb/match/words"
)

// tolerance returns what verdicts and moves go by.
func (t *Table) tolerance() string {
	assume := "The moves "
	if t.Equaliser != "" {
		assume += "are for your equaliser (" + t.Equaliser + ") and "
	}
	assume += words.Either(t.Stage == match.AsMeasured, "follow ", "assume ")
	text := report.Tolerance(t.WithinDB, len(t.References)) + t.widest() + " " + assume + words.Stage(t.Stage)
	if t.Stage != match.Finished {
		return text + "."
	}
	if t.count(func(r Row) bool { return r.Problem == "" && r.DistanceDB > finishedDB }) > 0 {
		text += "; a larger difference is taken for arrangement"
	}
	return text + ". For a single mix the usual stage is rough; choose it here too for the same moves."
}

// finishedDB is how far off a finished mix may be, in dB rms; see match.Finished.
const finishedDB = 2

// widest returns the narrowest and the widest tolerance learned from songs, which differ much by
// zone, "" if there is none.
func (t *Table) widest() string {
	if t.WithinDB > 0 || t.ownSongs() {
		return ""
	}
	var zones []match.ZoneVerdict
	for _, r := range t.Rows {
		if r.NoMoves.OwnSong { // its tolerance is another
			continue
		}
		for _, z := range r.Zones {
			if z.Why != match.LeftOutZone && z.ToleranceDB > 0 {
				zones = append(zones, z)
			}
		}
	}
	if len(zones) == 0 {
		return ""
	}
	byTolerance := func(a, b match.ZoneVerdict) int { return cmp.Compare(a.ToleranceDB, b.ToleranceDB) }
	least, most := slices.MinFunc(zones, byTolerance), slices.MaxFunc(zones, byTolerance)
	return fmt.Sprintf(" It is ±%.1f dB in the %s and ±%.1f dB in the %s, so near enough means no gross fault, not alike. Unusual: nine songs in ten lie nearer in that zone.", least.ToleranceDB, least.Name, most.ToleranceDB, most.Name)
}

// Headline returns a sentence that counts the mixes, each once, by the verdict beside it in the table.
func Headline(t *Table) string {
	text := fmt.Sprintf("%d %s: ", len(t.Rows), words.Plural(len(t.Rows), "mix", "mixes"))
	if t.Unreadable() == len(t.Rows) {
		return text + words.Plural(len(t.Rows), "it could not be judged.", "none could be judged.")
	}
	counts := []string{"none is off"}
	if n := t.Differing(); n > 0 {
		counts[0] = fmt.Sprintf("%d %s off", n, words.Plural(n, "is", "are"))
	}
	for _, v := range []match.Verdict{match.CannotTell, match.Unusual, match.NearEnough} {
		if n := t.judged(v); n > 0 {
			counts = append(counts, fmt.Sprintf("%d %s", n, v))
		}
	}
	if n := t.Unreadable(); n > 0 {
		counts = append(counts, fmt.Sprintf("%d not read", n))
	}
	text += strings.Join(counts, ", ")
	if few := report.JudgesLittle(t.WithinDB, len(t.References), t.ownSongs()); few != "" && t.Differing() == 0 {
		return text + ". " + few
	}
	return text + "."
}

// ownSongs reports whether the references are the song of every mix that was read.
func (t *Table) ownSongs() bool {
	return t.count(func(r Row) bool { return r.Problem == "" && !r.NoMoves.OwnSong }) == 0
}
