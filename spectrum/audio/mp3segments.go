package audio

import (
	"runtime"

	"toneplumb/spectrum/audio/mp3"
)

// An MP3 stream is cut into segments that are decoded on all cores at once, some ahead of where the caller reads, and
// given out in order. Each segment starts with a decoder of its own that first decodes the last frames of the segment
// before, the preroll, and drops them. A decoder remembers the overlap of one granule, the filter bank's state of less
// than one, and the reservoir; so that after the preroll it is, bit for bit, where a decoder of the whole stream would
// be. Where the cuts lie depends on nothing but the file.
const (
	mp3PrerollFrames = 2   // whose sound counts: the granules before a cut, one to a frame at the low sampling frequencies
	mp3Reservoir     = 511 // bytes of main data before these, the most that they can reach back
	mp3SegmentLen    = 256 // frames: six seconds, 2.4 MB decoded. Our choice: the preroll costs 2 %
	mp3FirstLen      = 32  // at most, of the first segment, which Open decodes, and the second decoder with it
	mp3SegmentsMax   = 6   // decoded at once; bounds the memory to 16 MB and as much again for the collector
)

// mp3Decoder decodes the frames of a stream in order. With an error the frame is silence.
type mp3Decoder interface {
	Decode(frame []byte, out *mp3.Block) (mp3.Header, error)
	Forget() // before a frame that does not follow on the last
}

// mp3Segments decodes the frames of a stream.
type mp3Segments struct {
	frames  *mp3Frames
	decoder func() mp3Decoder
	ended   error // why the frames ended
	cutOff  bool  // the file ended inside a frame that was left out
	preroll mp3Run
	cur     *mp3Segment
	at      int           // frames of cur given out
	ahead   []*mp3Segment // being decoded, in order
	spare   []*mp3Segment // given out
}

// mp3Run is frames that follow on each other.
type mp3Run struct {
	data   []byte
	frames []mp3Place
}

// mp3Place is where a frame of a run ends, and what is known of it.
type mp3Place struct {
	end, mainLen int
	gap, cutOff  bool
}

func (r *mp3Run) add(b []byte, p mp3Place) {
	r.data = append(r.data, b...)
	p.end = len(r.data)
	r.frames = append(r.frames, p)
}

func (r *mp3Run) frame(i int) []byte {
	from := 0
	if i > 0 {
		from = r.frames[i-1].end
	}
	return r.data[from:r.frames[i].end]
}

// set makes r the frames of o from one on.
func (r *mp3Run) set(o *mp3Run, from int) {
	r.data, r.frames = r.data[:0], r.frames[:0]
	for i := from; i < len(o.frames); i++ {
		r.add(o.frame(i), o.frames[i])
	}
}

// prerollFrom returns the first frame of a preroll for what follows on the run.
func (r *mp3Run) prerollFrom() int {
	from, reach := max(0, len(r.frames)-mp3PrerollFrames), 0
	for from > 0 && reach < mp3Reservoir {
		from--
		reach += r.frames[from].mainLen
	}
	return from
}

// mp3Segment is a run of frames with a preroll before them.
type mp3Segment struct {
	mp3Run
	preroll int
	sound   []mp3.Block // by frame without the preroll
	broken  []bool      // likewise: silence for damage
	cutOff  bool        // a last frame that the file does not hold whole is left out
	done    chan struct{}
}

// open decodes the first segment.
func (s *mp3Segments) open() *mp3Segment {
	if !s.start(mp3FirstLen) {
		return nil
	}
	s.cur, s.ahead = s.ahead[0], nil
	<-s.cur.done
	return s.cur
}

// next returns the next decoded frame, valid until the one after is asked for, and whether it is silence for damage.
// At the end it returns io.EOF or the reason why the file could not be read on.
func (s *mp3Segments) next() (sound *mp3.Block, broken bool, err error) {
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
func (s *mp3Segments) fill() {
	for len(s.ahead) < min(runtime.GOMAXPROCS(0), mp3SegmentsMax) && s.start(mp3SegmentLen) {
	}
}

// start reads up to n frames and starts to decode them; false at the end.
func (s *mp3Segments) start(n int) bool {
	if s.ended != nil {
		return false
	}
	g := &mp3Segment{}
	if last := len(s.spare) - 1; last >= 0 {
		g, s.spare = s.spare[last], s.spare[:last]
	}
	g.mp3Run.set(&s.preroll, 0)
	g.preroll, g.cutOff, g.done = len(g.frames), false, make(chan struct{})
	for i := range n {
		if n == mp3FirstLen && i > 0 && !s.frames.atFrame() {
			break // opening does not search
		}
		fr, err := s.frames.next()
		if err != nil {
			s.ended = err
			break
		}
		g.add(fr.b, mp3Place{mainLen: len(fr.b) - fr.MainAt(), gap: fr.gap, cutOff: fr.cutOff})
	}
	n = len(g.frames) - g.preroll
	if n == 0 {
		return false
	}
	s.preroll.set(&g.mp3Run, g.prerollFrom())
	if cap(g.sound) < n {
		g.sound, g.broken = make([]mp3.Block, n), make([]bool, n)
	}
	s.ahead = append(s.ahead, g)
	go func() {
		defer close(g.done)
		g.decode(s.decoder())
	}()
	return true
}

// decode decodes the segment. What cannot be decoded becomes silence, or is left out at the file's end.
func (g *mp3Segment) decode(d mp3Decoder) {
	g.sound, g.broken = g.sound[:len(g.frames)-g.preroll], g.broken[:len(g.frames)-g.preroll]
	var dropped mp3.Block
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
