package class

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"

	"toneplumb/match"
	"toneplumb/match/words"
)

// earlierOf returns each mix's earlier bounce, "" if there is none, and the earlier bounces that
// belong to no mix. A bounce belongs to a mix with the same file name, or else with the same
// name apart from the extension.
func earlierOf(mixes, before []string) (of, missing []string) {
	taken := map[string]bool{}
	for _, mix := range mixes {
		found := ""
		for _, alike := range []func(string) string{filepath.Base, stem} {
			if i := slices.IndexFunc(before, func(path string) bool { return alike(path) == alike(mix) }); i >= 0 && found == "" {
				found = before[i]
			}
		}
		taken[found] = true
		of = append(of, found)
	}
	for _, path := range before {
		if !taken[path] {
			missing = append(missing, path)
		}
	}
	return of, missing
}

// sinceWords says how a mix has changed since its earlier bounce, "" if none were given.
func (t *Table) sinceWords(r Row) string {
	switch {
	case !t.History || r.Problem != "":
		return ""
	case r.BeforeProblem != "":
		return "before: not read, " + r.BeforeProblem
	case r.Since == nil:
		return "before: no mix of this name"
	}
	text := fmt.Sprintf("before: %.2f dB → now %.2f dB, %s", r.Since.DistanceThenDB, r.Since.DistanceNowDB, nearnessWords(r.Since))
	if !r.Since.SameSong {
		text += " (perhaps another song)"
	}
	return text
}

// sameButChanged is a mix as far off as before in which a zone has moved by what is worth naming.
const sameButChanged = "as far off, but changed"

// nearnessWords says whether a mix has come nearer. One that is as far off as before may still be
// another mix: the word is kept from it.
func nearnessWords(p *match.Progress) string {
	if p.Nearness() == match.AsBefore && mostMoved(p) != nil {
		return sameButChanged
	}
	return p.Nearness().String()
}

// sinceCounts counts the mixes that came nearer, stayed, or went further off, and those without an
// earlier bounce; "" if none were given.
func (t *Table) sinceCounts() string {
	if !t.History {
		return ""
	}
	var counts []string
	for _, how := range []string{match.Nearer.String(), match.AsBefore.String(), sameButChanged, match.FurtherOff.String()} {
		if of := t.count(func(r Row) bool { return r.Since != nil && nearnessWords(r.Since) == how }); of > 0 {
			counts = append(counts, fmt.Sprintf("%d %s", of, how))
		}
	}
	without := t.count(func(r Row) bool { return r.Problem == "" && r.Since == nil && r.BeforeProblem == "" })
	unread := t.count(func(r Row) bool { return r.Problem == "" && r.BeforeProblem != "" })
	text := "Since the earlier mixes: "
	switch {
	case counts == nil && unread == 0:
		return "No mix has an earlier one of the same name."
	case unread > 0:
		counts = append(counts, fmt.Sprintf("%d whose earlier one was not read", unread))
	}
	if without > 0 {
		counts = append(counts, fmt.Sprintf("%d without an earlier one", without))
	}
	return text + words.List(counts) + "."
}

// sinceSummary returns sinceCounts, and the earlier bounces that belong to no mix.
func (t *Table) sinceSummary() string {
	text := t.sinceCounts()
	switch n := len(t.Missing); {
	case n == 1 && !t.Plain:
		text += " Not among these mixes: " + t.Missing[0] + "."
	case n > 0 && t.Plain, n > mostMissing:
		text += fmt.Sprintf(" Earlier mixes that are not among these: %d.", n)
	case n > 0:
		text += " Not among these mixes: " + words.List(t.Missing) + "."
	}
	return text
}

// mostMissing is how many are named. Our choice: as many as one looks up one by one.
const mostMissing = 5

// Standing returns sentences on a mix beside the class, and how it has changed since its earlier
// bounce. It gives no rank: the page is handed out, and someone is always last.
func (t *Table) Standing(r Row) []string {
	var distances []float64
	for _, other := range t.Rows {
		if other.Problem == "" {
			distances = append(distances, other.DistanceDB)
		}
	}
	slices.Sort(distances)
	read := len(distances)
	text := "The only mix here."
	if read > 1 {
		text = fmt.Sprintf("%.1f dB away; the middle of the %d mixes here is %.1f dB.", r.DistanceDB, read, (distances[(read-1)/2]+distances[read/2])/2)
	}
	all := []string{text}
	if r.Since == nil {
		if since := t.sinceWords(r); since != "" {
			all = append(all, words.UpperFirst(since)+".")
		}
		return all
	}
	text = fmt.Sprintf("%s since the earlier mix: %.1f dB then, %.1f dB now.", words.UpperFirst(nearnessWords(r.Since)), r.Since.DistanceThenDB, r.Since.DistanceNowDB)
	if z := mostMoved(r.Since); z != nil {
		text += fmt.Sprintf(" Most has happened in the %s: %s then, %s now.", z.Name, words.FormatDifference(z.ThenDB), words.FormatDifference(z.NowDB))
	}
	if !r.Since.SameSong {
		text += " The earlier mix of this name may be another song."
	}
	return append(all, text)
}

// mostMoved returns the zone that has moved most, nil if none is worth naming.
func mostMoved(p *match.Progress) *match.ZoneProgress {
	var most *match.ZoneProgress
	for i, z := range p.Zones {
		if moved := math.Abs(z.MovedDB()); moved >= match.WorthNamingDB && (most == nil || moved > math.Abs(most.MovedDB())) {
			most = &p.Zones[i]
		}
	}
	return most
}
