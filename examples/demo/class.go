package demo

import "toneplumb/biquad"

// RoughMix is "Lamplight on the Landing" by the Wednesday recording class of the Brackenholt evening school: D minor,
// 96 beats a minute, straight time, for drum machine, synthesised bass, vibraphone, clarinet and a synthesised lead line.
// It was mixed on small loudspeakers in a small room and sounds like it: thin below 120 Hz, thick around 450 Hz, hard at
// 3 kHz. Group and piece are invented.
func RoughMix() *Piece {
	verse := parseChords("Dm9 Bbmaj7 Fmaj9 C9 Dm9 Bbmaj7 Gm9 A7")
	form := inOrder(
		section{name: "intro", chords: parseChords("Dm9 Bbmaj7 Gm9 A7"), loud: 0.5},
		section{name: "A", chords: verse, loud: 0.66},
		section{name: "B", chords: parseChords("Gm9 C9 Fmaj9 Dm9 Gm9 Ebmaj9 Bbmaj9 A7"), loud: 0.8},
		section{name: "A'", chords: verse, loud: 0.92},
		section{name: "ending", chords: parseChords("Gm9 A7 Dmaj9"), loud: 0.6},
	)
	t := tempo{perMinute: 96, swing: 0.5, slowFrom: 29 * beatsPerBar}
	drums := newPlayer(t, 1, 0.002, 0.07)
	bass := newPlayer(t, 2, 0.005, 0.08)
	vibes := newPlayer(t, 3, 0.008, 0.12)
	reed := newPlayer(t, 4, 0.012, 0.06)
	lead := newPlayer(t, 5, 0.006, 0.06)
	voicings := voiceLead(allChords(form), 53)
	for _, s := range form {
		for bar, c := range s.chords {
			classDrums(drums, s, bar)
			classBass(bass, s, bar, c)
			classVibes(vibes, s, bar, voicings[s.fromBar+bar])
		}
		classMelodies(reed, lead, s)
	}
	return &Piece{
		Group: "Wednesday recording class, Brackenholt evening school", Title: "Lamplight on the Landing",
		FileName: "evening-class-rough-mix.wav",
		tracks: []track{
			{"drum machine", kit(drumMachine), -0.5, -14, drums.done()},
			{"synth bass", synthBass, -4, -30, bass.done()},
			{"vibraphone", vibraphone, -7, -7, vibes.done()},
			{"clarinet", clarinet, -7, -9, reed.done()},
			{"lead line", leadLine, -1, -10, lead.done()},
		},
		// A small hard room with a strong response in the low mids.
		room: room{preDelaySec: 0.004, t60Sec: 0.7, size: 0.55, dampHz: 3500, lowCutHz: 180},
		// The equaliser settings of somebody whose loudspeakers have too much bass and too few mids.
		bus: bus{
			filters: []biquad.Filter{
				{Shape: biquad.LowCut, FreqHz: 24, CutDBPerOct: 12},
				{Shape: biquad.LowShelf, FreqHz: 130, GainDB: -5, Q: 0.7},
				{Shape: biquad.Bell, FreqHz: 72, GainDB: 1.2, Q: 1.4},
				{Shape: biquad.Bell, FreqHz: 450, GainDB: 2.2, Q: 0.8},
				{Shape: biquad.Bell, FreqHz: 1150, GainDB: -1.5, Q: 0.8},
				{Shape: biquad.Bell, FreqHz: 3000, GainDB: 2, Q: 0.8},
				{Shape: biquad.HighShelf, FreqHz: 9000, GainDB: -1.5, Q: 0.6},
			},
			gainDB: -3.4, fadeSec: 2.5,
		},
		lengthSec: t.sec(31*beatsPerBar) + 2.5,
	}
}

const (
	classTheme = `r/.5 a4/.5 d5/1 e5/.5 f5/1.5    e5/.5 d5/.5 a4/2 r/1
		r/.5 g4/.5 c5/1 d5/.5 e5/1.5          d5/.5 c5/.5 g4/2 r/1
		r/.5 a4/.5 d5/1 e5/.5 f5/1.5          g5/.5 f5/.5 d5/2 r/.5 d5/.5
		bb4/1 c5/.5 d5/1 f5/.5 e5/1           c#5/1.5 d5/.5 e5/2`
	classBridge = `f5/1.5 d5/.5 bb4/1 a4/1   g4/1.5 bb4/.5 d5/1 e5/1   e5/1.5 c5/.5 a4/1 g4/1   a4/3 r/1
		d5/1 f5/1 a5/1 g5/1   f5/1.5 d5/.5 bb4/2   c5/1 d5/1 f5/1.5 d5/.5   e5/1 c#5/1 a4/2`
)

func classMelodies(reed, lead *player, s section) {
	at := s.beat(0)
	switch s.name {
	case "A":
		reed.sing(at, classTheme, 0, 0.85*s.loud, -0.3)
	case "B":
		lead.sing(at, classBridge, 0, 0.8*s.loud, 0.2)
		reed.sing(at+16, "r/2 d5/1 f5/1 g5/2 eb5/2 d5/4 e5/2 c#5/2", -12, 0.7*s.loud, -0.3)
	case "A'":
		lead.sing(at, classTheme, 0, 0.8*s.loud, 0.2)
		reed.sing(at, "f4/4 f4/4 e4/4 e4/2 bb4/2 a4/4 f4/4 bb4/2 a4/2 g4/4", 0, 0.8*s.loud, -0.3)
	case "ending":
		lead.sing(at, "f5/1.5 d5/.5 bb4/2 e5/1.5 c#5/.5 a4/2 f#5/8", 0, 0.9*s.loud, 0.2)
		reed.sing(at, "bb4/4 g4/4 a4/8", 0, s.loud, -0.3)
	}
}

func classDrums(p *player, s section, bar int) {
	at := s.beat(bar)
	hit := func(beat float64, drum int, loud, pan float64) {
		p.play(at+beat, 0.25, float64(drum), loud*s.loud, pan)
	}
	last := bar == len(s.chords)-1
	if s.name == "ending" && last {
		hit(0, kick, 1, 0)
		hit(0, cymbal, 0.7, 0.3)
		return
	}
	for eighth := range 8 {
		loud := 0.6
		if eighth%2 == 0 {
			loud = 0.9
		}
		if s.name == "B" && eighth == 7 {
			hit(3.5, openHat, 0.6, 0.35)
			continue
		}
		hit(float64(eighth)/2, closedHat, loud, 0.35)
		if s.name == "A'" && eighth%4 == 3 {
			hit(float64(eighth)/2+0.25, closedHat, 0.4, 0.35)
		}
	}
	if s.name == "intro" {
		if last {
			for i, loud := range []float64{0.5, 0.6, 0.8, 1} {
				hit(3+float64(i)/4, snare, loud, -0.05)
			}
		}
		return
	}
	for _, beat := range []float64{0, 1.75, 2.5} {
		if s.name != "A" || beat != 1.75 {
			hit(beat, kick, 1, 0)
		}
	}
	for _, beat := range []float64{1, 3} {
		hit(beat, snare, 0.9, -0.05)
		if s.name == "A'" {
			hit(beat, clap, 0.5, -0.2)
		}
	}
	if last {
		hit(2.75, snare, 0.4, -0.05)
		hit(3.5, snare, 0.6, -0.05)
		hit(3.75, snare, 0.8, -0.05)
	}
	if bar == 0 {
		hit(0, cymbal, 0.55, 0.3)
	}
}

func classBass(p *player, s section, bar int, c chord) {
	at, root := s.beat(bar), c.bassPitch(33) // A1, 55 Hz, to G sharp 2
	switch {
	case s.name == "intro":
		if bar >= 2 {
			p.play(at, 3.5, root, 0.8*s.loud, 0)
		}
	case s.name == "ending" && bar == len(s.chords)-1:
		p.play(at, 8, root, s.loud, 0)
	case s.name == "B":
		for i, step := range []float64{0, 0, 12, 0, 7, 0, 12, 7} {
			p.play(at+float64(i)/2, 0.45, root+step, (1-0.15*float64(i%2))*s.loud, 0)
		}
	default:
		p.play(at, 1.4, root, s.loud, 0)
		p.play(at+1.75, 0.6, root, 0.8*s.loud, 0)
		p.play(at+2.5, 0.9, root+7, 0.85*s.loud, 0)
		p.play(at+3.5, 0.45, root+12, 0.75*s.loud, 0)
	}
}

// classVibes plays the vibraphone, with the low bars panned to the left and the high ones to the right.
func classVibes(p *player, s section, bar int, voicing []float64) {
	at := s.beat(bar)
	hit := func(beat, beats, pitch, loud float64) {
		p.play(at+beat, beats, pitch, loud*s.loud, min(max((pitch-66)/14, -0.8), 0.8))
	}
	switch s.name {
	case "intro", "A'":
		for i, k := range []int{0, 1, 2, 3, 2, 1, 3, 2} {
			hit(float64(i)/2, 1.5, voicing[k]+12, 0.75-0.2*float64(i%2))
		}
		if s.name == "A'" {
			for _, pitch := range voicing {
				hit(0, 3.5, pitch, 0.5)
			}
		}
	case "ending":
		for i := range 12 {
			if bar < len(s.chords)-1 && i >= 4 {
				break
			}
			hit(float64(i)/4, 9, voicing[i%4]+12*float64(i/4), 0.8)
		}
	default:
		rhythm := []float64{0, 1.5, 3}
		if s.name == "B" {
			rhythm = []float64{0, 2}
		}
		for _, beat := range rhythm {
			for k, pitch := range voicing {
				hit(beat+0.01*float64(k), 1.3, pitch, 0.7)
			}
		}
	}
}
