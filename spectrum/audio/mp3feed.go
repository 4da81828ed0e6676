package audio

import "io"

// mp3Feed turns a stream from a file into one that the MP3 library decodes without surprises.
//
// In layer III a frame's main data may start up to 511 bytes (255 at the low sampling frequencies) before the frame,
// in the "reservoir" that earlier frames left. The library decodes noise when that part is not there, as at the start
// of a stream cut out of a longer one or after damage; and it reads padded frames at 22.05 kHz one byte short. So
// every frame is packed anew: all at the highest bit rate, without checksum and padding trouble, main data laid end to
// end as early as the format allows. That always fits, since these frames hold at least what the original ones did;
// what cannot be right (missing reservoir, impossible lengths) goes on as a frame of silence.
type mp3Feed struct {
	frames  *mp3Frames
	first   mpegHeader
	room    int    // bytes of main data in each frame passed on
	reach   int    // bytes that main data may start before its frame
	at      int64  // where the next frame's own bytes start, counted over all main data passed on
	cursor  int64  // where the main data laid out so far ends
	last    []byte // main data of earlier frames that a frame may still ask for
	waiting *fedFrame
	err     error // why the frames ended
	cutOff  bool  // the file ended inside a frame that was left out
	gaps    int   // unreadable places between frames
}

// fedFrame is a frame packed anew. Once it is passed on nothing changes it.
type fedFrame struct {
	head, side, main []byte
	begin            int
	silenced         bool
}

func newMP3Feed(frames *mp3Frames, first mpegHeader) *mp3Feed {
	f := &mp3Feed{frames: frames, first: first, reach: 255}
	fed := mpegHeader{version: first.version, layer: 3, rateHz: first.rateHz, bitrate: 160000}
	if first.version == mpeg1 {
		fed.bitrate, fed.padding = 320000, 1
		f.reach = 511
	}
	f.room = fed.frameLen() - mp3HeaderLen - first.sideLen()
	return f
}

// next returns the next frame, and at the end nil, with the reason in f.err. A frame waits until the one after it is
// laid out, whose main data may start in it; the one after that cannot, since a frame holds more than the reach.
func (f *mp3Feed) next() *fedFrame {
	if f.waiting == nil {
		f.waiting = f.load()
	}
	cur := f.waiting
	if cur == nil {
		return nil
	}
	f.waiting = f.load()
	setBegin(cur.side, cur.begin, f.first.version)
	return cur
}

func (c *fedFrame) silence() {
	clear(c.side)
	c.begin, c.silenced = 0, true
}

// load reads a frame from the file and lays it out; nil at the end.
func (f *mp3Feed) load() *fedFrame {
	if f.err != nil {
		return nil
	}
	fr, err := f.frames.next()
	if err != nil {
		f.err = err
		return nil
	}
	if fr.gap {
		f.gaps++
		f.last = f.last[:0]
	}
	fed := &fedFrame{head: f.header(fr), side: make([]byte, fr.sideLen()), main: make([]byte, f.room)}
	main, side, ok := f.mainData(fr)
	if fr.cutOff && !ok {
		f.cutOff = true
		f.err = io.EOF
		return nil
	}
	if !ok {
		fed.silenced = true
	} else {
		copy(fed.side, fr.b[fr.mainAt()-fr.sideLen():])
		if fr.midSide() && side.extend(f.spareBits(fr, side), fr.intensity()) {
			main = side.extended(main, fed.side)
		}
	}
	f.place(fed, main)
	return fed
}

// start is where the next main data can begin.
func (f *mp3Feed) start() int64 { return max(f.cursor, f.at-int64(f.reach)) }

// spareBits returns how much the main data of a frame may grow so that as much reservoir is left as in the file, and
// with that room for all that follows.
func (f *mp3Feed) spareBits(fr mp3Frame, side mp3Side) int {
	left := min(side.begin+len(fr.b)-fr.mainAt()-side.need(), f.reach)
	return 8 * max(int(f.at-f.start())+f.room-left-side.need(), 0)
}

// place lays main data end to end with the last, reaching back into the waiting frame where that is free.
func (f *mp3Feed) place(fed *fedFrame, main []byte) {
	start := f.start()
	switch {
	case len(main) == 0:
	case start+int64(len(main)) > f.at+int64(f.room):
		fed.silence()
	default:
		fed.begin = int(f.at - start)
		n := 0
		if fed.begin > 0 {
			n = copy(f.waiting.main[f.room-fed.begin:], main)
		}
		copy(fed.main, main[n:])
		f.cursor = start + int64(len(main))
	}
	f.at += int64(f.room)
}

// header returns the frame's header with the feed's bit rate and padding and without checksum.
func (f *mp3Feed) header(fr mp3Frame) []byte {
	const noCRC, topRate, padded, others = 0x01, 14 << 4, 0x02, 0x0D
	h := []byte{fr.b[0], fr.b[1] | noCRC, topRate | fr.b[2]&others, fr.b[3]}
	if fr.version == mpeg1 {
		h[2] |= padded
	}
	return h
}

// mainData collects the bytes that the frame's side information asks for, from earlier frames and its own. ok is
// false if they are not there or the side information is impossible.
func (f *mp3Feed) mainData(fr mp3Frame) (main []byte, side mp3Side, ok bool) {
	if len(fr.b) < fr.mainAt() {
		return nil, side, false
	}
	own := fr.b[fr.mainAt():]
	side, ok = parseSide(fr.mpegHeader, fr.b[fr.mainAt()-fr.sideLen():fr.mainAt()])
	switch {
	case !ok || side.begin > len(f.last) || side.need() > side.begin+len(own):
		ok = false
	case side.need() > 0:
		main = append(append(main, f.last[len(f.last)-side.begin:]...), own...)[:side.need()]
	}
	f.last = append(f.last, own...)
	if over := len(f.last) - f.reach; over > 0 {
		f.last = append(f.last[:0], f.last[over:]...)
	}
	return main, side, ok
}
