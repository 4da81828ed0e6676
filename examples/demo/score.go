package demo

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
)

const beatsPerBar = 4

// note is one event of a track. Pitch is in semitones with A4 = 440 Hz at 69 (MIDI numbering), or the number of a drum.
// Loud is 0 to 1, pan −1 (left) to 1 (right).
type note struct{ startSec, durSec, pitch, loud, pan float64 }

func (n note) freqHz() float64 { return 440 * math.Exp2((n.pitch-69)/12) }

// tempo converts beats to seconds. Swing is the position of the second eighth within a beat, 0.5 for straight time. From
// beat slowFrom on, beats become longer: the ritardando of the ending.
type tempo struct{ perMinute, swing, slowFrom float64 }

// slowing is the ritardando, in beats of delay per beat squared. Our choice, by taste.
const slowing = 0.012

func (t tempo) sec(beat float64) float64 {
	whole, part := math.Floor(beat), beat-math.Floor(beat)
	if part < 0.5 {
		part *= 2 * t.swing
	} else {
		part = t.swing + (2*part-1)*(1-t.swing)
	}
	beat = whole + part
	late := max(0, beat-t.slowFrom)
	return (beat + slowing*late*late) * 60 / t.perMinute
}

// player writes the notes of one track as a person would play them: a little early or late, a little louder or softer.
type player struct {
	tempo     tempo
	chance    *rand.Rand
	timingSec float64 // standard deviation of the start
	spread    float64 // standard deviation of loud, relative
	notes     []note
}

// newPlayer returns a player whose random numbers depend only on the seed and the number of the track, so that a track sounds
// the same alone as in the mix.
func newPlayer(t tempo, number uint64, timingSec, spread float64) *player {
	return &player{tempo: t, chance: rand.New(rand.NewPCG(seed, number)), timingSec: timingSec, spread: spread}
}

// deviate returns a normal deviate, limited to two standard deviations.
func (p *player) deviate() float64 { return min(max(p.chance.NormFloat64(), -2), 2) }

// play adds a note that starts at a beat, counted from the beginning of the piece, and lasts a number of beats.
func (p *player) play(beat, beats, pitch, loud, pan float64) {
	start := p.tempo.sec(beat)
	dur := p.tempo.sec(beat+beats) - start
	start = max(0, start+p.timingSec*p.deviate())
	loud = min(1, loud*max(0.1, 1+p.spread*p.deviate()))
	p.notes = append(p.notes, note{start, dur, pitch, loud, pan})
}

// done returns the notes in order of start.
func (p *player) done() []note {
	slices.SortStableFunc(p.notes, func(a, b note) int { return cmp.Compare(a.startSec, b.startSec) })
	return p.notes
}

// sing plays a melody written as "d5/1.5 bb4/.5 r/2": letter, accidental, octave, length in beats; r is a rest. Higher
// notes are louder, and so are notes on the first and third beat of a bar. It returns the melody's length in beats.
func (p *player) sing(beat float64, melody string, transpose, loud, pan float64) float64 {
	from := beat
	for word := range strings.FieldsSeq(melody) {
		name, length, _ := strings.Cut(word, "/")
		beats, err := strconv.ParseFloat(length, 64)
		if err != nil {
			panic(fmt.Sprintf("demo: %q is not a note", word))
		}
		if name != "r" {
			pitch := parsePitch(name)
			onBeat := 0.9
			if math.Mod(beat, 2) == 0 {
				onBeat = 1
			}
			const louderPerOctave = 0.25 // our choice: wind players lean on the high notes
			p.play(beat, beats, pitch+transpose, loud*onBeat*(1+louderPerOctave*(pitch-72)/12), pan)
		}
		beat += beats
	}
	return beat - from
}

var pitchClasses = map[byte]int{'c': 0, 'd': 2, 'e': 4, 'f': 5, 'g': 7, 'a': 9, 'b': 11}

// parsePitch reads "eb4" or "f#5".
func parsePitch(name string) float64 {
	class, rest := parseClass(name)
	octave, err := strconv.Atoi(rest)
	if err != nil {
		panic(fmt.Sprintf("demo: %q is not a pitch", name))
	}
	return float64(12*(octave+1) + class)
}

// parseClass reads a letter and its accidental and returns the semitones above C and the rest of the name.
func parseClass(name string) (class int, rest string) {
	class, ok := pitchClasses[strings.ToLower(name)[0]]
	if !ok {
		panic(fmt.Sprintf("demo: %q has no pitch", name))
	}
	rest = name[1:]
	if flat, ok := strings.CutPrefix(rest, "b"); ok {
		return class - 1, flat
	}
	if sharp, ok := strings.CutPrefix(rest, "#"); ok {
		return class + 1, sharp
	}
	return class, rest
}

// chord is a root and the four tones that are voiced, in semitones above the root.
type chord struct {
	root  int // above C
	tones [4]int
}

// qualities are the tones of chords by name. Chords with a ninth leave the root to the bass.
var qualities = map[string][4]int{
	"maj7": {0, 4, 7, 11}, "maj9": {2, 4, 7, 11},
	"m7": {0, 3, 7, 10}, "m9": {2, 3, 7, 10},
	"7": {0, 4, 7, 10}, "9": {2, 4, 7, 10}, "13": {2, 4, 9, 10},
}

// parseChords reads one chord for each bar, such as "Dm9 Bbmaj7 A7".
func parseChords(text string) []chord {
	var chords []chord
	for word := range strings.FieldsSeq(text) {
		root, quality := parseClass(word)
		tones, ok := qualities[quality]
		if !ok {
			panic(fmt.Sprintf("demo: %q is not a chord", word))
		}
		chords = append(chords, chord{root, tones})
	}
	return chords
}

// voiceLead voices each chord in close position, with its lowest tone within the octave from low. It chooses the inversion
// whose voices move the fewest semitones from the chord before; for the first chord, from fixed pitches in that octave.
func voiceLead(chords []chord, low int) [][]float64 {
	before := []float64{float64(low) + 4, float64(low) + 7, float64(low) + 11, float64(low) + 14}
	voicings := make([][]float64, len(chords))
	for i, c := range chords {
		best := math.Inf(1)
		for bottom := low; bottom < low+12; bottom++ {
			var v []float64
			for pitch := bottom; pitch < bottom+12; pitch++ {
				if slices.ContainsFunc(c.tones[:], func(tone int) bool { return (c.root+tone+24-pitch)%12 == 0 }) {
					v = append(v, float64(pitch))
				}
			}
			if v[0] != float64(bottom) {
				continue
			}
			var moved float64
			for k := range v {
				moved += math.Abs(v[k] - before[k])
			}
			if moved < best {
				best, voicings[i] = moved, v
			}
		}
		before = voicings[i]
	}
	return voicings
}

// bassPitch returns the lowest pitch from low on that is the root of the chord.
func (c chord) bassPitch(low int) float64 { return float64(low + (c.root-low%12+24)%12) }

// section is a part of the form. Loud is the loudness that its players aim at.
type section struct {
	name    string
	fromBar int
	chords  []chord
	loud    float64
}

func (s section) beat(bar int) float64 { return float64((s.fromBar + bar) * beatsPerBar) }

// inOrder sets the first bars of sections that follow each other.
func inOrder(sections ...section) []section {
	bar := 0
	for i := range sections {
		sections[i].fromBar = bar
		bar += len(sections[i].chords)
	}
	return sections
}

// allChords returns one chord for each bar of the form.
func allChords(form []section) []chord {
	var all []chord
	for _, s := range form {
		all = append(all, s.chords...)
	}
	return all
}
