package audio

import (
	"fmt"
	"io"
	"runtime"

	"github.com/hajimehoshi/go-mp3"
)

// An MP3 stream is cut into segments that are decoded on all cores at once, some ahead of where the caller reads, and
// given out in order. Each segment starts with a decoder of its own that first decodes the last frames of the segment
// before, the preroll, and drops them. A decoder remembers the overlap of one frame, the filter bank's state of less
// than one, and the reservoir, which after packing lies in one; so that after a few frames it is, bit for bit, where a
// decoder of the whole stream would be. After damage every decoder starts anew, which keeps that true. Where the cuts
// lie depends on nothing but the file.
const (
	mp3Preroll     = 6   // frames. Our choice: 3 would do, since the first has no reservoir and the second no overlap
	mp3SegmentLen  = 256 // frames: six seconds, 1.2 MB decoded. Our choice: the preroll costs 2 %
	mp3FirstLen    = 8   // of the first segment, which Open decodes
	mp3SegmentsMax = 6   // decoded at once; bounds the memory to 12 MB and as much again for the collector
)

// mp3Segments decodes the frames of a feed.
type mp3Segments struct {
	feed    *mp3Feed
	preroll []*fedFrame
	cur     *mp3Segment
	at      int           // frames of cur given out
	ahead   []*mp3Segment // being decoded, in order
	spare   [][]byte      // decoded frames of segments that have been given out
}

// mp3Segment is a run of frames with a preroll before them.
type mp3Segment struct {
	frames  []*fedFrame
	preroll int
	samples int // in each frame
	pcm     []byte
	broken  []bool // by frame without the preroll: silence for damage
	done    chan struct{}
}

// next returns the next decoded frame, valid until the one after is asked for, and whether it is silence for damage.
// At the end it returns io.EOF or the reason why the file could not be read on.
func (s *mp3Segments) next() (pcm []byte, broken bool, err error) {
	for s.cur == nil || s.at == len(s.cur.broken) {
		opening := s.cur == nil
		if opening {
			s.start(mp3FirstLen)
		} else {
			s.fill()
		}
		if len(s.ahead) == 0 {
			return nil, false, s.feed.err
		}
		if !opening {
			s.spare = append(s.spare, s.cur.pcm)
		}
		s.cur, s.at, s.ahead = s.ahead[0], 0, s.ahead[1:]
		if !opening {
			s.fill()
		}
		<-s.cur.done
	}
	size := len(s.cur.pcm) / len(s.cur.broken)
	pcm, broken = s.cur.pcm[s.at*size:(s.at+1)*size], s.cur.broken[s.at]
	s.at++
	return pcm, broken, nil
}

// fill starts as many segments as there are cores.
func (s *mp3Segments) fill() {
	for len(s.ahead) < min(runtime.GOMAXPROCS(0), mp3SegmentsMax) && s.start(mp3SegmentLen) {
	}
}

// start reads up to n frames from the feed and starts to decode them; false at the end.
func (s *mp3Segments) start(n int) bool {
	g := &mp3Segment{frames: s.preroll, preroll: len(s.preroll), samples: s.feed.first.samples(), done: make(chan struct{})}
	for range n {
		f := s.feed.next()
		if f == nil {
			break
		}
		g.frames = append(g.frames, f)
	}
	if len(g.frames) == g.preroll {
		return false
	}
	s.preroll = append([]*fedFrame(nil), g.frames[max(0, len(g.frames)-mp3Preroll):]...)
	size := mp3FrameBytes * g.samples * (len(g.frames) - g.preroll)
	if last := len(s.spare) - 1; last >= 0 {
		g.pcm, s.spare = s.spare[last], s.spare[:last]
	}
	if cap(g.pcm) < size {
		g.pcm = make([]byte, size)
	}
	g.pcm = g.pcm[:size]
	s.ahead = append(s.ahead, g)
	go g.decode()
	return true
}

// decode decodes the segment. What cannot be decoded becomes silence.
func (g *mp3Segment) decode() {
	defer close(g.done)
	size := mp3FrameBytes * g.samples
	n := len(g.frames) - g.preroll
	g.broken = make([]bool, n)
	p := mp3Player{restart: g.preroll > 0}
	dropped := make([]byte, size)
	for i, f := range g.frames {
		pcm := dropped
		if i >= g.preroll {
			pcm = g.pcm[(i-g.preroll)*size:][:size]
		}
		broken := p.play(f, pcm)
		if i >= g.preroll {
			g.broken[i-g.preroll] = broken
		}
	}
	g.frames = nil
}

// mp3Player hands single frames to the library.
type mp3Player struct {
	dec     *mp3.Decoder
	frame   []byte // the current frame
	out     []byte // the part of it not yet passed on
	restart bool   // the decoder has lost what went before: no frame may reach back
}

// Read passes the current frame on.
func (p *mp3Player) Read(b []byte) (int, error) {
	if len(p.out) == 0 {
		return 0, io.EOF
	}
	n := copy(b, p.out)
	p.out = p.out[n:]
	return n, nil
}

// play decodes a frame into pcm and reports whether it is silence for damage.
func (p *mp3Player) play(f *fedFrame, pcm []byte) (broken bool) {
	silenced := f.silenced
	p.frame = append(append(p.frame[:0], f.head...), f.side...)
	if p.restart && f.begin > 0 {
		clear(p.frame[len(f.head):])
		silenced = true
	}
	p.frame = append(p.frame, f.main...)
	p.out, p.restart = p.frame, false
	if err := p.decode(pcm); err != nil {
		clear(pcm)
		p.dec, p.restart = nil, true // a decoder that has forgotten what went before
		return true
	}
	return silenced
}

// decode decodes the current frame into pcm; the library's panics become errors.
func (p *mp3Player) decode(pcm []byte) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("mp3 decoder: %v", r)
		}
	}()
	if p.dec == nil {
		// The player cannot seek, so this decodes one frame and does not scan a file.
		if p.dec, err = mp3.NewDecoder(p); err != nil {
			return err
		}
	}
	_, err = io.ReadFull(p.dec, pcm)
	return err
}
