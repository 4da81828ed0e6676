package tracks

import (
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// A song as General MIDI, parted into its channels: each is a single track whose sound
// is known, and their sum is the mix.

// midiEvent is one event of a Standard MIDI File at a time in ticks.
type midiEvent struct {
	tick    int
	channel int // −1: of all channels
	raw     []byte
}

var errMIDI = errors.New("no Standard MIDI File that is understood here")

// splitMIDI returns for each of the 16 channels the file with only its own notes and
// controls, nil where it has no note; tempo and other events of all channels stay.
// Source: MIDI Association, Standard MIDI Files 1.0 (from memory).
func splitMIDI(file []byte) (channels [16][]byte, err error) {
	if len(file) < 14 || string(file[:4]) != "MThd" {
		return channels, errMIDI
	}
	head := 8 + int(binary.BigEndian.Uint32(file[4:]))
	var chunks [][]midiEvent
	var sounds [16]bool
	for at := head; at+8 <= len(file); {
		size := int(binary.BigEndian.Uint32(file[at+4:]))
		if at+8+size > len(file) {
			return channels, errMIDI
		}
		if string(file[at:at+4]) == "MTrk" {
			events, err := readMIDI(file[at+8 : at+8+size])
			if err != nil {
				return channels, err
			}
			for _, e := range events {
				if e.channel >= 0 && e.raw[0]>>4 == 9 && e.raw[2] > 0 {
					sounds[e.channel] = true
				}
			}
			chunks = append(chunks, events)
		}
		at += 8 + size
	}
	for c := range channels {
		if !sounds[c] {
			continue
		}
		out := append([]byte(nil), file[:head]...)
		binary.BigEndian.PutUint16(out[10:], uint16(len(chunks)))
		for _, events := range chunks {
			out = append(out, writeMIDI(events, c)...)
		}
		channels[c] = out
	}
	return channels, nil
}

// drumGroups are the keys of General MIDI's percussion that a session has on one track each.
// Source: MIDI Association, General MIDI percussion key map (from memory).
var drumGroups = []struct {
	name  string
	holds func(key byte) bool
}{
	{"kick", func(k byte) bool { return k == 35 || k == 36 }},
	{"snare", func(k byte) bool { return k >= 37 && k <= 40 }},
	{"hats", func(k byte) bool { return k == 42 || k == 44 || k == 46 }},
	{"cymbals", func(k byte) bool { return k == 49 || k == 51 || k == 52 || k == 53 || k == 55 || k == 57 || k == 59 }},
	{"percussion", func(k byte) bool { return true }},
}

// splitDrums returns a file of percussion with only the keys of each group, nil where it
// has none.
func splitDrums(file []byte) (groups [][]byte, err error) {
	head := 8 + int(binary.BigEndian.Uint32(file[4:]))
	of := func(key byte) int {
		for i, g := range drumGroups {
			if g.holds(key) {
				return i
			}
		}
		return -1
	}
	for i := range drumGroups {
		out, sounds := append([]byte(nil), file[:head]...), false
		for at := head; at+8 <= len(file); {
			size := int(binary.BigEndian.Uint32(file[at+4:]))
			events, err := readMIDI(file[at+8 : at+8+size])
			if err != nil {
				return nil, err
			}
			var kept []midiEvent
			for _, e := range events {
				note := e.channel >= 0 && (e.raw[0]>>4 == 9 || e.raw[0]>>4 == 8)
				if note && of(e.raw[1]) != i {
					continue
				}
				sounds = sounds || note
				kept = append(kept, e)
			}
			out = append(out, writeMIDI(kept, 9)...)
			at += 8 + size
		}
		if !sounds {
			out = nil
		}
		groups = append(groups, out)
	}
	return groups, nil
}

// readMIDI reads the events of one chunk.
func readMIDI(b []byte) (events []midiEvent, err error) {
	at, tick := 0, 0
	number := func() int {
		n := 0
		for at < len(b) {
			c := b[at]
			at++
			n = n<<7 | int(c&127)
			if c < 128 {
				break
			}
		}
		return n
	}
	status := byte(0)
	for at < len(b) {
		tick += number()
		from := at
		if at >= len(b) {
			return nil, errMIDI
		}
		if b[at] >= 128 {
			status = b[at]
			at++
		}
		e := midiEvent{tick: tick, channel: -1}
		switch {
		case status == 0xff:
			at++
			at += number()
		case status == 0xf0 || status == 0xf7:
			at += number()
		case status >= 0x80:
			size := 2
			if status>>4 == 0xc || status>>4 == 0xd {
				size = 1
			}
			if at+size > len(b) {
				return nil, errMIDI
			}
			e.channel = int(status & 15)
			e.raw = append([]byte{status}, b[at:at+size]...)
			at += size
		default:
			return nil, errMIDI
		}
		if at > len(b) {
			return nil, errMIDI
		}
		if e.channel < 0 {
			e.raw = b[from:at]
		}
		events = append(events, e)
	}
	return events, nil
}

// writeMIDI writes the events of one channel and of all as a chunk.
func writeMIDI(events []midiEvent, channel int) []byte {
	out, last := []byte("MTrk\x00\x00\x00\x00"), 0
	for _, e := range events {
		if e.channel >= 0 && e.channel != channel {
			continue
		}
		delta := e.tick - last
		last = e.tick
		for shift := 28; shift > 0; shift -= 7 {
			if delta>>shift > 0 {
				out = append(out, byte(delta>>shift&127)|128)
			}
		}
		out = append(out, byte(delta&127))
		out = append(out, e.raw...)
	}
	binary.BigEndian.PutUint32(out[4:], uint32(len(out)-8))
	return out
}

const soundFont = "/usr/share/sounds/sf2/FluidR3_GM.sf2"

// renderWith plays the first seconds of a MIDI file with fluidsynth and a sound font, as
// [channel][frame] at 44.1 kHz.
func renderWith(t *testing.T, soundFont string, midi []byte, seconds int) [2][]float32 {
	t.Helper()
	raw := rendered(t, soundFont, midi, seconds)
	var x [2][]float32
	for c := range x {
		x[c] = make([]float32, 44100*seconds)
		for i := range len(raw) / 4 {
			x[c][i] = float32(int16(binary.LittleEndian.Uint16(raw[4*i+2*c:]))) / 32768
		}
	}
	return x
}

// rendered returns interleaved 16-bit samples. Long runs take them from a folder of earlier
// ones, TONEPLUMB_STEMS, if there is one.
func rendered(t *testing.T, soundFont string, midi []byte, seconds int) []byte {
	cache := os.Getenv("TONEPLUMB_STEMS")
	key := sha256.New()
	fmt.Fprintf(key, "%s %d ", filepath.Base(soundFont), seconds)
	key.Write(midi)
	at := filepath.Join(cache, fmt.Sprintf("%x.raw", key.Sum(nil)))
	if cache != "" {
		if raw, err := os.ReadFile(at); err == nil {
			return raw
		}
	}
	f, err := os.CreateTemp(t.TempDir(), "*.mid")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.Write(midi); err != nil {
		t.Fatal(err)
	}
	f.Close()
	cmd := exec.Command("fluidsynth", "-niq", "-r", "44100", "-O", "s16", "-E", "little", "-T", "raw", "-F", "/dev/stdout", "-g", "0.2", soundFont, f.Name())
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	raw := make([]byte, 4*44100*seconds)
	n, err := io.ReadFull(out, raw)
	if err != nil && err != io.ErrUnexpectedEOF {
		t.Fatalf("fluidsynth: %v", err)
	}
	cmd.Process.Kill() // there may be more of the song
	cmd.Wait()
	raw = raw[:n]
	if cache != "" {
		if err := os.WriteFile(at, raw, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return raw
}

func TestSplitMIDI(t *testing.T) {
	// Two channels with running status and a tempo in one chunk.
	events := "\x00\xff\x51\x03\x07\xa1\x20\x00\x90\x3c\x40\x10\x3e\x40\x00\x91\x40\x40\x81\x00\xff\x2f\x00"
	file := "MThd\x00\x00\x00\x06\x00\x00\x00\x01\x00\x60MTrk\x00\x00\x00" + string(rune(len(events))) + events
	parts, err := splitMIDI([]byte(file))
	if err != nil {
		t.Fatal(err)
	}
	want := "\x00\xff\x51\x03\x07\xa1\x20\x10\x91\x40\x40\x81\x00\xff\x2f\x00"
	if got := string(parts[1]); !strings.HasSuffix(got, want) {
		t.Errorf("channel 2 is %q, want %q at its end", got, want)
	}
	if parts[0] == nil || parts[2] != nil {
		t.Error("channels without a note are there, or the first is not")
	}
}
