package words_test

import (
	"bytes"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"toneplumb/match"
	"toneplumb/match/probe"
	"toneplumb/match/words"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/testkit"
)

// advice is when a finding comes, and what to do about it.
type advice struct{ when, do string }

// advised has every code of the module's findings. The sentence itself comes from package
// words; what a code means never changes, so this is kept by hand.
var advised = map[string]advice{
	"true-peak":      {"the finished mix peaks above −1 dBTP", "Turn the mix down, or its limiter's ceiling, and bounce again."},
	"trim-lowered":   {"the moves would take the mix above −1 dBTP at equal loudness", "Dial the trim as printed. To compare, play the mix without the moves lower by as much."},
	"far-apart":      {"a rough mix, or one that follows as measured, is farther from the reference than songs by one maker usually are", "Choose another reference, unless the mix itself is that far off. `--stage finished` refuses such a reference."},
	"swapped":        {"the mix is much louder than the reference", "If the two are swapped, give the mix first. If not, go on."},
	"previous-moves": {"settings were given with --already", "As it says: keep those moves, or dial the new ones in their place."},
	"no-trace":       {"the tone of a mix given with --already is as it was before those moves", "Bounce it again with the equaliser on, or leave --already out. If it was on, `toneplumb eqread --settings` says what it really does."},
	"wider-apart":    {"the moves leave the mix farther away over all bands", "Listen before you trust them. Try another reference, or more of them."},
	"more-files":     {"more than five references have remarks", "`toneplumb measure` on the references lists them all."},
	"clipped":        {"the mix stays at full scale in more than one place", "Turn down the track, bus or master that clips, and bounce again. If it is meant as an effect, go on."},
	"mono":           {"a recording is mono, and another is not", "If it is meant to be in stereo, give it so. A reference may be left out."},
	"short-music":    {"a recording holds less than a minute of music", "Give a longer part, or the whole song."},
	"mastered":       {"the reference has been through a limiter, and the mix has not", "Take moves at both ends with care; the limiter will change these too."},
	"missing-lows":   {"one side has nearly no sound at the low end", "Where the mix lacks it, look at kick and bass. Where the reference does, choose another if the low end matters."},
	"stands-out":     {"the reference is far from what most songs have in a zone", "Beside another song, hear whether the zone is its arrangement's. --as-measured follows all of it."},
	"odd-reference":  {"one of three or more references is unlike the others", "Listen to it, and leave it out if it does not belong."},
	"low-pass":       {"a lossy file or another sample rate ends below the range", "For advice at the top use a lossless file. Nothing is advised on what was cut off."},
	"part-counts":    {"only parts of the recordings were asked for", "Nothing: it says what was compared."},
	"add-up":         {"moves have over 4.5 dB together, and 1.5 dB more than the largest", "Dial the largest first, and listen before the next."},
	"large-moves":    {"a move has more than 4.5 dB", "Look at the balance and at single tracks first; `toneplumb tracks` helps."},
	"variant":        {"the worksheet is a variant, for a class in which each has another", "Nothing: the answers belong to this variant alone."},
	"reaches-out":    {"moves do over 4.5 dB where an octave and more of the range is not judged", "Listen to that end first, with the moves on and off. A reference or a mix that reaches farther tells what belongs there."},
	"voice-moves":    {"a move of 2 dB or more lies between 1 and 5 kHz", "Set the level of the voice first, then measure again."},
	"top-moves":      {"a move lies above 8 kHz", "Check it by ear: equalisers differ there."},

	"mix-itself":       {"nearest: a reference is the mix", "Leave it out."},
	"own-song":         {"nearest: a reference is the mix's own song", "Use it to see what processing did, not as a reference."},
	"judged-short":     {"nearest: a reference ends lower than the others", "Compare it below that, or use a lossless file."},
	"louder":           {"render: what is written is over 6 dB louder, or a fader goes up by as much", "Turn the monitors down before you play it."},
	"peak-after":       {"render: what is written peaks above −1 dBTP", "Lower the trim, the reference with the mix, or all tracks."},
	"designed-anew":    {"render: the settings are for another sample rate", "Nothing: expect a small difference near the top."},
	"written-as-float": {"render: integer samples would clip", "Nothing: any recording program reads 32-bit float."},
}

// shown are the first sentences of each code in the golden file.
func shown() map[string]string {
	all := map[string]string{}
	for _, f := range words.Samples() {
		if all[f.Code()] == "" {
			all[f.Code()] = words.Finding(f)
		}
	}
	return all
}

const messagesHead = `# What toneplumb says, and what to do

Every warning and error. "…" is where a
name or a figure stands. JSON has the code of a warning. An error is two lines, what happened and what to do, with its code at the end of
the first; the exit code is 2. ` + "`toneplumb help CODE` prints a code's row" + `.

## Warnings

A warning is to be dealt with before anything is dialled. With a caution the moves may mislead. An info is good to know.

| code | severity | when | for example | what to do |
|---|---|---|---|---|
`

// messages is the page.
func messages(t *testing.T) string {
	s := readSource(t, "../..")
	out := bytes.NewBufferString(messagesHead)
	row := func(cells ...string) {
		for i, text := range cells {
			cells[i] = strings.ReplaceAll(strings.ReplaceAll(text, "|", `\|`), "<", "&lt;")
		}
		fmt.Fprintf(out, "| %s |\n", strings.Join(cells, " | "))
	}
	sentences := shown()
	kinds := s.kinds()
	for _, k := range kinds {
		a := advised[k.code]
		if a == (advice{}) {
			t.Errorf("finding %q: when it comes and what to do belong into advised", k.code)
		}
		row("`"+k.code+"`", k.severity, a.when, sentences[k.code], a.do)
	}
	if len(kinds) != len(advised) {
		t.Errorf("%d codes in the source, %d advised", len(kinds), len(advised))
	}
	out.WriteString("\n## Why there are no moves\n\nThe `outlook` of a document.\n\n| code | it says |\n|---|---|\n")
	for o := match.NotAsked; o <= match.NoneHelps; o++ {
		row("`"+o.Code()+"`", words.NoMoves(match.NoMoves{Outlook: o, ApartDB: 3.2}))
	}
	out.WriteString("\n## Why a band is left out\n\n| code | it says |\n|---|---|\n")
	for cause := match.SampleRate; cause <= match.OutsideRange; cause++ {
		row("`"+cause.Code()+"`", words.Exclusion(match.Exclusion{Cause: cause, Side: match.Side{Of: 1}, Hz: 16500}))
	}
	for _, cause := range []probe.Cause{probe.OutsideRecording, probe.HardlyMusic, probe.MuchElse} {
		row("`"+string(cause)+"`", "eqread: "+words.LeftOutOfBounce(cause))
	}
	codes := map[string]bool{}
	for _, sec := range sections() {
		fmt.Fprintf(out, "\n## %s\n\n%s\n\n| code | severity | for example | what to do |\n|---|---|---|---|\n", sec.title, sec.lead)
		for i, f := range sec.findings {
			if toDo[f.Code()] == "" || codes[f.Code()] || advised[f.Code()] != (advice{}) {
				t.Errorf("finding %q: what to do belongs into toDo, once", f.Code())
			}
			codes[f.Code()] = true
			row("`"+f.Code()+"`", f.Severity().String(), sec.texts[i], toDo[f.Code()])
		}
	}
	if len(codes) != len(toDo) {
		t.Errorf("%d codes in the sections, %d things to do", len(codes), len(toDo))
	}
	out.WriteString("\n## Errors\n\nBy code. A code stands for what can be done about an error; what happened exactly is in the sentence before it.\n\n| code | when | what to do |\n|---|---|---|\n")
	for _, code := range slices.Sorted(maps.Values(s.errorKinds)) {
		a := errorAdvice[finding.ErrorKind(code)]
		if a == (advice{}) || codes[code] || advised[code] != (advice{}) {
			t.Errorf("error %q: when it comes and what to do belong into errorAdvice, and a finding has another code", code)
		}
		row("`"+code+"`", a.when, a.do)
	}
	if len(s.errorKinds) != len(errorAdvice) {
		t.Errorf("%d kinds of errors, advice on %d", len(s.errorKinds), len(errorAdvice))
	}
	ofFiles, others := s.failures()
	list := func(all []failure) {
		out.WriteString("\n\n| what happened | what to do | code |\n|---|---|---|\n")
		for _, f := range all {
			if f.kind == "" {
				t.Errorf("the error %q has no kind", f.text)
			}
			row(f.text, f.hint, f.kind)
		}
	}
	out.WriteString("\n## Errors about a file\n\nThe file's name stands before them.")
	list(ofFiles)
	out.WriteString("\n## Errors of a command, or on the page")
	list(others)
	for name := range s.errorKinds {
		if !s.uses("finding", name) {
			t.Errorf("no error is of the kind %s", name)
		}
	}
	return out.String()
}

// Every warning and error stands on one page, and a new one appears there.
func TestMessages(t *testing.T) {
	const page = "messages.md"
	got := messages(t)
	testkit.Golden(t, page, []byte(got))
}
