package demo

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"toneplumb/biquad"
	"toneplumb/spectrum"
)

// seed is the seed of all random numbers in the demo.
const seed = 1862

// Piece is one piece of music with all its notes, tracks and effects. Playing does not change it.
type Piece struct {
	Group, Title string
	FileName     string // of the WAV file that Write makes
	tracks       []track
	room         room
	bus          bus
	lengthSec    float64
}

// track is one player's part and its channel on the mixing desk.
type track struct {
	name           string
	voice          instrument
	gainDB, sendDB float64 // the fader, and the send to the room after it
	notes          []note
}

// bus is the processing of the whole mix: filters, then a gentle saturation of peaks, then the gain and the fades.
type bus struct {
	filters []biquad.Filter
	drive   float64 // amplitude at which saturation begins, 0 for none; see round
	gainDB  float64
	fadeSec float64 // at the end
}

// Frames returns the length of the piece in frames at [RateHz].
func (p *Piece) Frames() int { return int(p.lengthSec * RateHz) }

// Tracks returns the names of the tracks.
func (p *Piece) Tracks() []string {
	var names []string
	for _, t := range p.tracks {
		names = append(names, t.name)
	}
	return names
}

// Playing is a piece that is being played, see [Piece.Play].
type Playing struct {
	piece  *Piece
	strips []*strip
	reverb *reverb
	filter *biquad.Cascade
	level  *biquad.Cascade // removes the offset that saturation causes
	frame  int             // played so far
	send   [2][]float64
}

// strip is a track that is being played.
type strip struct {
	*track
	number     uint64
	next       int // index of the next note
	sounding   []*voice
	gain, send float64
	sum        [2][]float64
}

// voice is a note that is sounding.
type voice struct {
	next        func() float64
	left, right float64 // gains
	start, end  int     // frames of the piece
}

// Play starts the piece at its first frame. With names it plays only these tracks, through the same room and bus. If the
// bus has no saturation, as in [RoughMix], the single tracks add up to the mix. It panics on a name that is not in
// [Piece.Tracks].
func (p *Piece) Play(tracks ...string) *Playing {
	for _, name := range tracks {
		if !slices.Contains(p.Tracks(), name) {
			panic(fmt.Sprintf("demo: there is no track %q", name))
		}
	}
	pl := &Playing{piece: p, reverb: newReverb(p.room), filter: biquad.NewCascade(p.bus.filters, RateHz, 2)}
	// Our choice: 5 Hz, so far below the music that it hardly shifts a peak.
	pl.level = biquad.NewCascade([]biquad.Filter{{Shape: biquad.LowCut, FreqHz: 5, CutDBPerOct: 6}}, RateHz, 2)
	for i := range p.tracks {
		t := &p.tracks[i]
		if len(tracks) == 0 || slices.Contains(tracks, t.name) {
			pl.strips = append(pl.strips, &strip{track: t, number: uint64(i), gain: spectrum.DBToAmp(t.gainDB), send: spectrum.DBToAmp(t.sendDB)})
		}
	}
	return pl
}

// Read fills block, two channels of one length, with the next frames, full scale ±1, and returns their number: fewer than
// the block holds at the end of the piece, then 0. The sound does not depend on how it is cut into blocks.
func (pl *Playing) Read(block [][]float64) int {
	frames := min(len(block[0]), pl.piece.Frames()-pl.frame)
	const chunk = 1024 // only bounds the memory
	for from := 0; from < frames; from += chunk {
		to := min(frames, from+chunk)
		pl.read([][]float64{block[0][from:to], block[1][from:to]})
	}
	return frames
}

func (pl *Playing) read(out [][]float64) {
	frames := len(out[0])
	for ch := range out {
		pl.send[ch] = append(pl.send[ch][:0], make([]float64, frames)...)
		clear(out[ch])
	}
	for _, s := range pl.strips {
		s.add(out, pl.send[:], pl.frame)
	}
	pl.reverb.add(out, pl.send[:])
	b := pl.piece.bus
	pl.filter.Run(out)
	if b.drive > 0 {
		for _, channel := range out {
			for n, x := range channel {
				channel[n] = round(x, b.drive)
			}
		}
		pl.level.Run(out)
	}
	gain := spectrum.DBToAmp(b.gainDB)
	for n := range frames {
		g := gain * fadeAt(pl.frame+n, pl.piece.Frames(), b.fadeSec)
		for ch := range out {
			out[ch][n] *= g
		}
	}
	pl.frame += frames
}

// add plays the track's next frames, from frame now of the piece, into out and send.
func (s *strip) add(out, send [][]float64, now int) {
	frames := len(out[0])
	for ; s.next < len(s.notes); s.next++ {
		n := s.notes[s.next]
		start := int(math.Round(n.startSec * RateHz))
		if start >= now+frames {
			break
		}
		next, lifeSec := s.voice(n, rand.NewPCG(seed+s.number, uint64(s.next)))
		// Pan law: constant power, sin² + cos² = 1.
		angle := (n.pan + 1) * math.Pi / 4
		s.sounding = append(s.sounding, &voice{
			next: next, start: start, end: start + int(lifeSec*RateHz),
			left: s.gain * math.Cos(angle), right: s.gain * math.Sin(angle),
		})
	}
	for ch := range s.sum {
		s.sum[ch] = append(s.sum[ch][:0], make([]float64, frames)...)
	}
	for _, v := range s.sounding {
		v.add(s.sum[0], s.sum[1], now)
	}
	for ch, sum := range s.sum {
		for n, y := range sum {
			out[ch][n] += y
			send[ch][n] += y * s.send
		}
	}
	s.sounding = slices.DeleteFunc(s.sounding, func(v *voice) bool { return v.end <= now+frames })
}

// add plays the voice's next frames, from frame now of the piece, into the two channels.
func (v *voice) add(left, right []float64, now int) {
	left = left[:min(len(left), v.end-now)]
	right = right[:len(left)]
	for n := max(0, v.start-now); n < len(left); n++ {
		y := v.next()
		if closing := v.end - now - n; closing < closingFrames {
			y *= float64(closing) / closingFrames
		}
		left[n] += y * v.left
		right[n] += y * v.right
	}
}

// closingFrames is the length of the ramp that ends a note. Our choice: 10 ms, too slow to click.
const closingFrames = 441

// fadeAt returns the gain of the fades at a frame: 10 ms at the beginning, fadeSec at the end, half a cosine each.
func fadeAt(frame, frames int, fadeSec float64) float64 {
	const inSec = 0.01
	if frame > inSec*RateHz && frame < frames-1-int(fadeSec*RateHz) {
		return 1
	}
	in := min(1, float64(frame)/(inSec*RateHz))
	out := min(1, float64(frames-1-frame)/(fadeSec*RateHz))
	return (0.5 - 0.5*math.Cos(math.Pi*in)) * (0.5 - 0.5*math.Cos(math.Pi*out))
}

// round saturates x softly towards ±2·drive. Up to drive it returns x, above it drive·(1 + tanh(x/drive − 1)); the slopes
// are equal where the two meet.
func round(x, drive float64) float64 {
	a := math.Abs(x)
	if a <= drive {
		return x
	}
	return math.Copysign(drive*(1+math.Tanh(a/drive-1)), x)
}
