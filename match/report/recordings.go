package report

import (
	"fmt"
	"math"
	"strings"

	"toneplumb/match"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// named is a recording with what it is in a comparison: "mix", "before", "reference 2".
type named struct {
	*measure.Recording
	who string
}

// namedAll returns a mix, its earlier bounce and the references; the first two may be nil.
func namedAll(mix, before *measure.Recording, references []*measure.Recording) []named {
	var all []named
	if mix != nil {
		all = append(all, named{mix, "mix"})
	}
	if before != nil {
		all = append(all, named{before, "before"})
	}
	for i, ref := range references {
		all = append(all, named{ref, match.ReferenceLabel(i, len(references))})
	}
	return all
}

func namedOf(r *match.Result) []named { return namedAll(r.Mix, nil, r.References) }

func checkedRecordings(k *match.Check) []named {
	var before *measure.Recording
	if k.Since != nil {
		before = k.Since.Before.Mix
	}
	return namedAll(k.Mix, before, k.References)
}

// roles returns what each recording is.
func roles(all []named) []string {
	var who []string
	for _, r := range all {
		who = append(who, r.who)
	}
	return who
}

// Recordings returns a block with the names and figures of a mix, unless it is nil, and its
// references, to begin a text of blocks.
func Recordings(mix *measure.Recording, references []*measure.Recording) Block {
	return recordingsAloud(namedAll(mix, nil, references))
}

func recordingsAloud(all []named) (b Block) {
	for _, r := range all {
		b.Items = append(b.Items, Item{Lead: r.who + ":", Paragraphs: []string{r.inWords(", ", math.MaxInt)}})
	}
	return b
}

// recordingNotes returns a line for each recording, at most that many. If there are more, the last names
// the rest, since remarks call references by their numbers.
func recordingNotes(all []named, most int) []string {
	var lines []string
	for _, r := range all {
		lines = append(lines, r.who+": "+r.inWords(" · ", lineName))
	}
	if len(all) <= most {
		return lines
	}
	return append(lines[:most-1:most-1], restByName(all[most-1:]))
}

// equaliserLine returns a line that names the equaliser the moves are for; nil for the common one and without moves.
func equaliserLine(r *match.Result) []string {
	name := r.SolveOptions.Equaliser.Name
	if name == "" || len(r.Moves) == 0 {
		return nil
	}
	return []string{"equaliser: " + LineName(name)}
}

// restByName returns "reference 3: three.wav, reference 4: four.wav", with long names cut. If even so they
// have no room, or are left out, it counts.
func restByName(rest []named) string {
	const cells, leastName = 100, 10 // our choice: a line of a page to hand out; less of a name says nothing
	room := cells/len(rest) - Cells("reference 10: , ")
	var names []string
	for _, r := range rest {
		name := NameBeside(r.who, r.Recording)
		if name == "" || room < leastName {
			return fmt.Sprintf("and %d more references", len(rest))
		}
		names = append(names, r.who+": "+Shorten(name, room))
	}
	return strings.Join(names, ", ")
}

// lineName is how wide a name may be in a line of a figure, in cells of a terminal. Our choice: what is left of
// both rows is enough for figures.
const lineName = 100

// LineName returns a name for a line of a figure, cut in its middle if it is very long.
func LineName(name string) string { return Shorten(name, lineName) }

// inWords returns a recording's name in at most so many cells, unless names are left out, and figures in one line.
func (r named) inWords(between string, cells int) string {
	text := Figures(r.Recording, between)
	if name := NameBeside(r.who, r.Recording); name != "" {
		text = Shorten(name, cells) + between + text
	}
	if r.Counted != nil {
		text += between + "only " + r.Counted.String() + " counts"
	}
	return text
}

// recordingLines writes each recording's name, cut in its middle, and its figures; below it the
// passages that are used, if not all are.
func recordingLines(t *TextReport, all []named) {
	for _, r := range all {
		figures := "  " + Figures(r.Recording, "  ")
		lead := fmt.Sprintf("%-11s  ", r.who)
		room := Columns - Cells(lead) - Cells(figures)
		fmt.Fprintf(t, "%s%s%s\n", lead, Pad(Shorten(NameBeside(r.who, r.Recording), room), room), figures)
		if r.Counted != nil {
			t.Paragraph(strings.Repeat(" ", Cells(lead)), "only "+r.Counted.String()+" counts")
		}
	}
}

// Figures returns a recording's length, format and own loudness, also if earlier moves were removed, separated by between. If that is
// blank, they are padded to columns, so that those of several recordings align.
func Figures(r *measure.Recording, between string) string {
	figures := []string{audio.Clock(r.DurationSec), RateAndChannels(r.Format), Level(r.OwnLUFS(), 1) + " LUFS"}
	if strings.TrimSpace(between) == "" {
		for i, widest := range []string{"0:00", "44.1 kHz stereo", "−00.0 LUFS"} {
			figures[i] = strings.Repeat(" ", max(0, Cells(widest)-Cells(figures[i]))) + figures[i]
		}
	}
	return strings.Join(figures, between)
}

// FormatWords returns a recording's rate, channels and sample format: "44.1 kHz stereo, …".
func FormatWords(f audio.Format) string { return RateAndChannels(f) + ", " + f.Encoding }

// RateAndChannels returns "44.1 kHz stereo".
func RateAndChannels(f audio.Format) string {
	channels := map[int]string{1: "mono", 2: "stereo"}[f.Channels]
	if channels == "" {
		channels = fmt.Sprintf("%d channels", f.Channels)
	}
	return fmt.Sprintf("%g kHz %s", float64(f.RateHz)/1000, channels)
}
