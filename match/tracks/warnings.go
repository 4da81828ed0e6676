package tracks

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"toneplumb/spectrum"
	"toneplumb/spectrum/measure/multitrack"
)

// lengthSec is the difference in length that is worth telling. Our choice: a tail of
// reverberation that one bounce has and the other has not is shorter.
const lengthSec = 2

// warnings says what makes the answers doubtful.
func (s *session) warnings() []string {
	var all remarks
	for _, t := range s.tracks {
		for _, w := range t.Warnings {
			all.add(t.name, "", kind{one: "%[1]s: " + strings.ReplaceAll(w, "%", "%%")})
		}
		switch t.state {
		case Silent:
			all.add(t.name, "", kind{"%[1]s is silent: nothing in it is louder than −70 LUFS", "%[1]s are silent: nothing in them is louder than −70 LUFS", ""})
			continue
		case Duplicate:
			all.add(t.name, "", kind{one: "%[1]s is the same sound as " + strings.ReplaceAll(s.tracks[t.duplicateOf].name, "%", "%%") + ": it is counted once"})
			continue
		case Absent:
			if math.IsNaN(t.lagSec) {
				all.add(t.name, "", kind{"%[1]s is not to be found in the mix: is it of this song, and does it start with the mix?",
					"%[1]s cannot be found in the mix: are they of this song, and do they start with the mix?", ""})
				continue
			}
			all.add(t.name, "about "+lagWords(t.lagSec), kind{"%[1]s starts elsewhere than the mix: it seems to run %[2]s, and is not counted; bounce it from the start of the mix",
				"%[1]s start elsewhere than the mix: they seem to run %[2]s, and are not counted; bounce them from the start of the mix", either(t.lagSec > 0, "late", "early")})
			continue
		}
		if sameSound(t.Track, &multitrack.Track{RowPower: s.RowMix}) {
			all.add(t.name, "", kind{one: "%[1]s is the whole mix: name single tracks of it"})
		}
		db := spectrum.PowerToDB(t.gain * t.gain)
		amount, way := fmt.Sprintf("%.1f dB", math.Abs(db)), either(db > 0, "louder", "softer")
		switch {
		case t.belowGate:
			all.add(t.name, "", kind{"%[1]s sounds only where the mix is too soft to count, and holds nothing of what does", "%[1]s sound only where the mix is too soft to count, and hold nothing of what does", ""})
		case t.tooBrief && t.gain != 1:
			all.add(t.name, amount, kind{"%[1]s sounds too briefly to be found in the mix, and is taken %[2]s, as the others stand", "%[1]s sound too briefly to be found in the mix, and are taken %[2]s, as the others stand", way})
		case t.tooBrief:
			all.add(t.name, "", kind{"%[1]s sounds too briefly to be found in the mix, and is taken as it is given", "%[1]s sound too briefly to be found in the mix, and are taken as they are given", ""})
		}
		if !math.IsNaN(t.lagSec) {
			all.add(t.name, lagWords(t.lagSec), kind{"%[1]s fits better when it runs %[2]s: bounce it from the start of the mix, with its delay made good",
				"%[1]s fit better when they run %[2]s: bounce them from the start of the mix, with their delay made good", either(t.lagSec > 0, "earlier", "later")})
		}
		if t.gain < 0 {
			all.add(t.name, "", kind{"%[1]s stands in the mix with its polarity inverted, and is counted so", "%[1]s stand in the mix with their polarity inverted, and are counted so", ""})
		}
		if math.Abs(db) > placeDB && !t.tooBrief {
			all.add(t.name, amount, kind{"%[1]s stands %[2]s in the mix than it was given, and is counted so: a fader, or an equaliser on the master",
				"%[1]s stand %[2]s in the mix than they were given, and are counted so: faders, or an equaliser on the master", way})
		}
		if d := t.DurationSec - s.r.Mix.DurationSec; d > lengthSec {
			all.add(t.name, fmt.Sprintf("%.0f s", d), kind{"%[1]s is %[2]s than the mix: what comes after the mix's end is not looked at",
				"%[1]s are %[2]s than the mix: what comes after the mix's end is not looked at", "longer"})
		} else if -d > lengthSec {
			all.add(t.name, fmt.Sprintf("%.0f s", -d), kind{"%[1]s ends %[2]s the mix: it is silent from there", "%[1]s end %[2]s the mix: they are silent from there", "before"})
		}
	}
	return all.words(len(s.tracks))
}

// kind is what can be said of a track: a format for one and, if it may be said of several at once,
// for more, with who and how much; which way that is stands apart.
type kind struct{ one, more, way string }

// remarks gathers what is said, in the order in which it first comes up: forty tracks
// bounced with one delay are one warning.
type remarks []remark

type remark struct {
	kind
	names, amounts []string
}

func (r *remarks) add(name, amount string, k kind) {
	if k.more == "" {
		k.more = k.one
	}
	i := slices.IndexFunc(*r, func(have remark) bool { return have.kind == k })
	if i < 0 {
		i = len(*r)
		*r = append(*r, remark{kind: k})
	}
	(*r)[i].names, (*r)[i].amounts = append((*r)[i].names, name), append((*r)[i].amounts, amount)
}

// words returns the remarks about some of so many tracks.
func (r remarks) words(tracks int) []string {
	var all []string
	for _, m := range r {
		format, way, n := m.one, m.way, len(m.names)
		if n > 1 {
			format = m.more
		}
		alike := len(slices.Compact(slices.Clone(m.amounts))) == 1
		if !alike {
			for i := range m.names {
				m.names[i] += " (" + m.amounts[i] + ")"
			}
		} else if m.amounts[0] != "" {
			way = m.amounts[0] + " " + way
		}
		who := m.names[0]
		switch {
		case n > 2 && n == tracks && alike:
			who = fmt.Sprintf("all %d tracks", n)
		case n > 1:
			who = strings.Join(m.names[:n-1], ", ") + " and " + m.names[n-1]
		}
		all = append(all, fmt.Sprintf(format, who, way))
	}
	return all
}

// lagWords are seconds, or milliseconds for what a plug-in takes.
func lagWords(sec float64) string {
	switch sec = math.Abs(sec); {
	case sec < 0.0001: // a few frames
		return fmt.Sprintf("%.2f ms", 1000*sec)
	case sec < 1:
		return fmt.Sprintf("%.1f ms", 1000*sec)
	}
	return fmt.Sprintf("%.0f s", sec)
}

func either(first bool, a, b string) string {
	if first {
		return a
	}
	return b
}
