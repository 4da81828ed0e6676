package mp3

import (
	"runtime"

	"toneplumb/spectrum/parallel"
)

// An MP3 stream is cut into segments, which are decoded on all cores at the same time, some of them ahead of the caller,
// and returned in order. Each segment has a decoder of its own, which first decodes the last frames of the segment
// before, the preroll, and drops their sound. The state of a decoder is the overlap of one granule, less than one granule
// in the filter bank, and the reservoir. After the preroll it therefore equals, bit for bit, the state of a decoder that
// has read the whole stream. The cuts depend on nothing but the file.
const (
	prerollFrames = 2   // frames whose sound reaches past a cut: two granules, one per frame in MPEG-2 and MPEG-2.5
	segmentLen    = 256 // frames: six seconds, 2.4 MB decoded. Our choice: the preroll costs 2 %
	firstLen      = 32  // most frames of the first segment, which Open decodes with both decoders
	segmentsMax   = 6   // decoded at the same time; bounds the memory to 16 MB and as much again for the collector
)

// frameDecoder decodes the frames of a stream in order. With an error the frame is silence.
type frameDecoder interface {
	Decode(frame []byte, out *Block) (Header, error)
	Forget() // called before a frame that does not follow the last one
}

// segments decodes the frames of a stream.
type segments struct {
	frames  *frames
	decoder func() frameDecoder
	ended   error // why the frames ended
	cutOff  bool  // whether the file ended inside a frame, which was left out
	preroll run
	cur     *segment
	at      int        // frames of cur returned so far
	ahead   []*segment // being decoded, in order
	spare   []*segment // returned, to be reused
}

// run is a sequence of frames.
type run struct {
	data   []byte
	frames []place
}

// place describes a frame of a run: where it ends in data, the length of its main data, and the flags of frame.
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

// set makes r a copy of the frames of o from index from on.
func (r *run) set(o *run, from int) {
	r.data, r.frames = r.data[:0], r.frames[:0]
	for i := from; i < len(o.frames); i++ {
		r.add(o.frame(i), o.frames[i])
	}
}

// prerollFrom returns the index of the first frame that must be in the preroll of what follows the run: prerollFrames,
// and before them frames with reservoirLen bytes of main data.
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
	preroll  int
	sound    []Block // by frame, without the preroll
	broken   []bool  // by frame, without the preroll: whether it is silence because of damage
	cutOff   bool    // whether a last frame that is not complete in the file was left out
	done     chan struct{}
	panicked *parallel.Panic // of the decoder
}

// wait waits until the segment is decoded. It panics if the decoder has panicked.
func (g *segment) wait() {
	<-g.done
	g.panicked.Again()
}

// open decodes the first segment.
func (s *segments) open() *segment {
	if !s.start(firstLen) {
		return nil
	}
	s.cur, s.ahead = s.ahead[0], nil
	s.cur.wait()
	return s.cur
}

// next returns the next decoded frame, valid until the next call, and whether it is silence because of damage. At the
// end it returns io.EOF or the error that ended reading.
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
		s.cur.wait()
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

// start reads up to n frames and starts to decode them. It reports whether there were any.
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
			break // the first segment ends at damage: Open does not search for frames
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
		g.panicked = parallel.Caught(func() { g.decode(s.decoder()) })
	}()
	return true
}

// decode decodes the segment. Frames that cannot be decoded become silence; one that the end of the file cuts off is left
// out.
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
