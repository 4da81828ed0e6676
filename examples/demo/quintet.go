package demo

import "toneplumb/biquad"

// Finished is "Slow Ferry Home" by the Ottermill Five: G major, 100 beats a minute, swung, for brushes, plucked bass,
// electric piano, flute and a held pad. It is the reference: a finished piece of another group, with another arrangement,
// well balanced. Group and piece are invented.
func Finished() *Piece {
	verse := parseChords("Gmaj9 Em9 Am9 D9 Bm7 Em9 Am9 D9")
	form := inOrder(
		section{name: "intro", chords: parseChords("Gmaj9 Em9 Am9 D9"), loud: 0.55},
		section{name: "A", chords: verse, loud: 0.7},
		section{name: "B", chords: parseChords("Cmaj9 Cm9 Bm7 E7 Am9 Am9 D9 D9"), loud: 0.85},
		section{name: "A'", chords: verse, loud: 0.95},
		section{name: "ending", chords: parseChords("Gmaj9 Cm9 Gmaj9"), loud: 0.6},
	)
	t := tempo{perMinute: 100, swing: 0.61, slowFrom: 29 * beatsPerBar}
	drums := newPlayer(t, 11, 0.006, 0.12)
	bass := newPlayer(t, 12, 0.008, 0.08)
	keys := newPlayer(t, 13, 0.008, 0.1)
	air := newPlayer(t, 14, 0.012, 0.06)
	strings := newPlayer(t, 15, 0.01, 0.05)
	chords := allChords(form)
	voicings := voiceLead(chords, 53)
	for _, s := range form {
		for bar, c := range s.chords {
			after := c
			if at := s.fromBar + bar + 1; at < len(chords) {
				after = chords[at]
			}
			brushes(drums, s, bar)
			walk(bass, s, bar, c, after)
			comp(keys, s, bar, voicings[s.fromBar+bar])
			hold(strings, s, bar, voicings[s.fromBar+bar])
		}
		ferryMelody(air, s)
	}
	return &Piece{
		Group: "The Ottermill Five", Title: "Slow Ferry Home", FileName: "ottermill-five-finished.wav",
		tracks: []track{
			{"brushes", kit(brushKit), -0.5, -12, drums.done()},
			{"plucked bass", pluckedBass, -1, -26, bass.done()},
			{"electric piano", tines, -5.5, -10, keys.done()},
			{"flute", flute, -7.5, -8, air.done()},
			{"pad", pad, -8, -6, strings.done()},
		},
		room: room{preDelaySec: 0.018, t60Sec: 1.7, size: 1, dampHz: 5000, lowCutHz: 220},
		bus: bus{
			filters: []biquad.Filter{
				{Shape: biquad.LowCut, FreqHz: 34, CutDBPerOct: 12},
				{Shape: biquad.Bell, FreqHz: 225, GainDB: -2, Q: 1.2},
				{Shape: biquad.HighShelf, FreqHz: 9000, GainDB: -4, Q: 0.6},
			},
			drive: 0.31, gainDB: 3, fadeSec: 3,
		},
		lengthSec: t.sec(31*beatsPerBar) + 3.5,
	}
}

const (
	ferryTheme = `d5/1.5 b4/.5 a4/1 g4/1   b4/3 r/.5 d5/.5   e5/1.5 c5/.5 b4/1 a4/1   c5/2.5 r/.5 d5/.5 e5/.5
		f#5/1.5 d5/.5 a4/1 d5/1   g5/1.5 f#5/.5 d5/1 b4/1   c5/1 e5/1 g5/1.5 e5/.5   f#5/.5 e5/1.5 r/2`
	ferryBridge = `e5/1 g5/1 b5/2   bb5/1 g5/1 eb5/2   d5/1 f#5/1 a5/1.5 f#5/.5   g#5/2 b5/1 e5/1
		c5/1 e5/1 g5/1 b5/1   a5/1.5 g5/.5 e5/2   r/.5 e5/.5 f#5/.5 a5/.5 c6/1.5 a5/.5   f#5/1 e5/1 d5/2`
)

func ferryMelody(air *player, s section) {
	at := s.beat(0)
	switch s.name {
	case "intro":
		air.sing(at+12, "r/2 a4/.5 b4/.5 d5/1", 0, s.loud, 0.1)
	case "A":
		air.sing(at, ferryTheme, 0, 0.85*s.loud, 0.1)
	case "B":
		air.sing(at, ferryBridge, 0, 0.85*s.loud, 0.1)
	case "A'":
		air.sing(at, ferryTheme, 0, 0.9*s.loud, 0.1)
	case "ending":
		air.sing(at, "d5/1.5 b4/.5 a4/1 g4/1 eb5/3 c5/1 d5/8", 0, 0.9*s.loud, 0.1)
	}
}

func brushes(p *player, s section, bar int) {
	at := s.beat(bar)
	hit := func(beat float64, drum int, loud, pan float64) {
		p.play(at+beat, 0.25, float64(drum), loud*s.loud, pan)
	}
	last := bar == len(s.chords)-1
	if s.name == "ending" && last {
		hit(0, kick, 0.9, 0)
		hit(0, cymbal, 0.9, 0.4)
		return
	}
	for beat := range beatsPerBar {
		b := float64(beat)
		hit(b, sweep, 0.75+0.2*float64(beat%2), -0.2+0.3*float64(beat%2))
		if beat%2 == 1 {
			hit(b, closedHat, 0.7, -0.45)
			if s.name != "intro" {
				hit(b, snare, 0.7, -0.1)
			}
		}
		if s.name == "B" || s.name == "A'" {
			hit(b, cymbal, 0.85, 0.4)
			if beat%2 == 1 {
				hit(b+0.5, cymbal, 0.6, 0.4)
			}
		}
	}
	if s.name != "intro" {
		hit(0, kick, 0.9, 0)
		hit(2, kick, 0.7, 0)
		if bar%2 == 1 {
			hit(2.5, snare, 0.35, -0.1)
			hit(3.5, kick, 0.55, 0)
		}
	}
	if last {
		for i, loud := range []float64{0.5, 0.6, 0.75} {
			hit(3+float64(i)/3, snare, loud, -0.1)
		}
	}
}

// walk plays the bass, with three notes per bar at first and four later. The last one leads to the next chord from a
// semitone above.
func walk(p *player, s section, bar int, c, after chord) {
	at, root := s.beat(bar), c.bassPitch(31) // G1, 49 Hz, to F sharp 2
	third := root + float64(c.tones[1])
	lead := after.bassPitch(31) + 1
	switch {
	case s.name == "ending" && bar == len(s.chords)-1:
		p.play(at, 9, root, s.loud, 0)
	case s.name == "B" || s.name == "A'":
		for i, pitch := range []float64{root, third, root + 7, lead} {
			p.play(at+float64(i), 0.95, pitch, (0.95-0.1*float64(i%2))*s.loud, 0)
		}
	default:
		p.play(at, 1.9, root, s.loud, 0)
		p.play(at+2, 1.3, root+7, 0.85*s.loud, 0)
		p.play(at+3.5, 0.5, lead, 0.6*s.loud, 0)
	}
}

func comp(p *player, s section, bar int, voicing []float64) {
	at := s.beat(bar)
	strikeAll := func(beat, beats, loud float64) {
		for k, pitch := range voicing {
			p.play(at+beat, beats, pitch, loud*s.loud, -0.5+0.25*float64(k))
		}
	}
	switch {
	case s.name == "ending" && bar == len(s.chords)-1:
		for k, pitch := range append(voicing, voicing[0]+12, voicing[1]+12) {
			p.play(at+0.3*float64(k), 9, pitch, 0.8*s.loud, -0.35+0.15*float64(k))
		}
	case s.name == "intro" || s.name == "ending":
		strikeAll(0, 3.9, 0.8)
	case s.name == "B":
		strikeAll(0, 1.9, 0.75)
		strikeAll(2.5, 1.3, 0.65)
	case bar%2 == 0:
		strikeAll(0, 1.4, 0.75)
		strikeAll(1.5, 2.2, 0.7)
	default:
		strikeAll(0.5, 1.4, 0.7)
		strikeAll(3, 0.8, 0.6)
	}
}

// hold plays the pad, each tone with two voices 8 cents apart, one panned to either side.
func hold(p *player, s section, bar int, voicing []float64) {
	if s.name == "intro" || s.name == "A" && bar < 4 {
		return
	}
	beats := 3.9
	if s.name == "ending" && bar == len(s.chords)-1 {
		beats = 8.5
	}
	for _, pitch := range voicing {
		p.play(s.beat(bar), beats, pitch-0.04, s.loud, -0.9)
		p.play(s.beat(bar), beats, pitch+0.04, s.loud, 0.9)
	}
}
