package mp3

import (
	"runtime"
)

// An MP3 stream is cut into segments that are decoded on all cores at once, some ahead of where the caller reads, and
// given out in order. Each segment starts with a decoder of its own that first decodes the last frames of the segment
// before, the preroll, and drops them. A decoder remembers the overlap of one granule, the filter bank's state of less
// than one, and the reservoir; so that after the preroll it is, bit for bit, where a decoder of the whole stream would
// be. Where the cuts lie depends on nothing but the file.
const (
	prerollFrames = 2   // whose sound counts: the granules before a cut, one to a frame at the low sampling frequencies
	reservoirLen  = 511 // bytes of main data before these, the most that they can reach back
	segmentLen    = 256 // frames: six seconds, 2.4 MB decoded. Our choice: the preroll costs 2 %
	firstLen      = 32  // at most, of the first segment, which Open decodes, and the second decoder with it
	segmentsMax   = 6   // decoded at once; bounds the memory to 16 MB and as much again for the collector
)

// frameDecoder decodes the frames of a stream in order. With an error the frame is silence.
type frameDecoder interface {
	Decode(frame []byte, out *Block) (Header, error)
	Forget() // before a frame that does not follow on the last
}

// segments decodes the frames of a stream.
type segments struct {
	frames  *frames
	decoder func() frameDecoder
	ended   error // why the frames ended
	cutOff  bool  // the file ended inside a frame that was left out
	preroll run
	cur     *segment
	at      int        // frames of cur given out
	ahead   []*segment // being decoded, in order
	spare   []*segment // given out
}

// run is frames that follow on each other.
type run struct {
	data   []byte
	frames []place
}

// place is where a frame of a run ends, and what is known of it.
type place struct {
	end, mainLen int
	gap, cutOff  bool
}

func (r *run) add(b []byte, p place) {
	r.data = append(r.data, b...)
	p.end = len(r.data)
	r.frames = append(r.frames, p)
}

func (r *run) frame(i int) []byte {
	from := 0
	if i > 0 {
		from = r.frames[i-1].end
	}
	return r.data[from:r.frames[i].end]
}

// set makes r the frames of o from one on.
func (r *run) set(o *run, from int) {
	r.data, r.frames = r.data[:0], r.frames[:0]
	for i := from; i < len(o.frames); i++ {
		r.add(o.frame(i), o.frames[i])
	}
}

// prerollFrom returns the first frame of a preroll for what follows on the run.
func (r *run) prerollFrom() int {
	from, reach := max(0, len(r.frames)-prerollFrames), 0
	for from > 0 && reach < reservoirLen {
		from--
		reach += r.frames[from].mainLen
	}
	return from
}

// segment is a run of frames with a preroll before them.
type segment struct {
	run
	preroll int
	sound   []Block // by frame without the preroll
	broken  []bool  // likewise: silence for damage
	cutOff  bool    // a last frame that the file does not hold whole is left out
	done    chan struct{}
}

// open decodes the first segment.
func (s *segments) open() *segment {
	if !s.start(firstLen) {
		return nil
	}
	s.cur, s.ahead = s.ahead[0], nil
	<-s.cur.done
	return s.cur
}

// next returns the next decoded frame, valid until the one after is asked for, and whether it is silence for damage.
// At the end it returns io.EOF or the reason why the file could not be read on.
func (s *segments) next() (sound *Block, broken bool, err error) {
	for s.cur == nil || s.at == len(s.cur.broken) {
		if s.cur != nil {
			s.cutOff = s.cutOff || s.cur.cutOff
			s.spare = append(s.spare, s.cur)
			s.cur = nil
		}
		s.fill()
		if len(s.ahead) == 0 {
			return nil, false, s.ended
		}
		s.cur, s.at, s.ahead = s.ahead[0], 0, s.ahead[1:]
		s.fill()
		<-s.cur.done
	}
	sound, broken = &s.cur.sound[s.at], s.cur.broken[s.at]
	s.at++
	return sound, broken, nil
}

// fill starts as many segments as there are cores.
func (s *segments) fill() {
	for len(s.ahead) < min(runtime.GOMAXPROCS(0), segmentsMax) && s.start(segmentLen) {
	}
}

// start reads up to n frames and starts to decode them; false at the end.
func (s *segments) start(n int) bool {
	if s.ended != nil {
		return false
	}
	g := &segment{}
	if last := len(s.spare) - 1; last >= 0 {
		g, s.spare = s.spare[last], s.spare[:last]
	}
	g.run.set(&s.preroll, 0)
	g.preroll, g.cutOff, g.done = len(g.frames), false, make(chan struct{})
	for i := range n {
		if n == firstLen && i > 0 && !s.frames.atFrame() {
			break // opening does not search
		}
		fr, err := s.frames.next()
		if err != nil {
			s.ended = err
			break
		}
		g.add(fr.b, place{mainLen: len(fr.b) - fr.MainAt(), gap: fr.gap, cutOff: fr.cutOff})
	}
	n = len(g.frames) - g.preroll
	if n == 0 {
		return false
	}
	s.preroll.set(&g.run, g.prerollFrom())
	if cap(g.sound) < n {
		g.sound, g.broken = make([]Block, n), make([]bool, n)
	}
	s.ahead = append(s.ahead, g)
	go func() {
		defer close(g.done)
		g.decode(s.decoder())
	}()
	return true
}

// decode decodes the segment. What cannot be decoded becomes silence, or is left out at the file's end.
func (g *segment) decode(d frameDecoder) {
	g.sound, g.broken = g.sound[:len(g.frames)-g.preroll], g.broken[:len(g.frames)-g.preroll]
	var dropped Block
	for i, place := range g.frames {
		if place.gap {
			d.Forget()
		}
		if i < g.preroll {
			d.Decode(g.frame(i), &dropped)
			continue
		}
		n := i - g.preroll
		_, err := d.Decode(g.frame(i), &g.sound[n])
		g.broken[n] = err != nil
		if place.cutOff && err != nil {
			g.sound, g.broken, g.cutOff = g.sound[:n], g.broken[:n], true
		}
	}
}
