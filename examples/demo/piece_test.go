package demo

import (
	"math"
	"slices"
	"strings"
	"testing"
)

// listen plays the first frames of a piece in blocks of the given length.
func listen(p *Piece, frames, blockLen int, tracks ...string) [][]float64 {
	out := [][]float64{make([]float64, frames), make([]float64, frames)}
	playing := p.Play(tracks...)
	for from := 0; from < frames; from += blockLen {
		to := min(frames, from+blockLen)
		playing.Read([][]float64{out[0][from:to], out[1][from:to]})
	}
	return out
}

func TestBlocksDoNotMatter(t *testing.T) {
	const frames = 3 * RateHz
	for _, p := range []*Piece{RoughMix(), Finished()} {
		want := listen(p, frames, frames)
		for _, blockLen := range []int{7, 512} {
			got := listen(p, frames, blockLen)
			if !slices.Equal(got[0], want[0]) || !slices.Equal(got[1], want[1]) {
				t.Errorf("%s: blocks of %d frames sound different", p.Title, blockLen)
			}
		}
	}
}

// The single tracks of the rough mix, through the same room and bus, add up to it.
func TestTracksAddUp(t *testing.T) {
	const frames = 12 * RateHz     // the intro and the beginning of A
	const tolerance = 1e-12        // of full scale: sums in another order
	const leastPowerOfFaint = 1e-7 // −70 dBFS: silent tracks would add up too
	p := RoughMix()
	rest := listen(p, frames, frames)
	for _, name := range p.Tracks() {
		track := listen(p, frames, frames, name)
		var power float64
		for ch := range rest {
			for n, v := range track[ch] {
				rest[ch][n] -= v
				power += v * v / frames
			}
		}
		if sings := name != "lead line"; sings && power < leastPowerOfFaint { // the lead line waits for B
			t.Errorf("%s: mean power %.2g, want at least %.0g", name, power, leastPowerOfFaint)
		}
	}
	for ch := range rest {
		for n, v := range rest[ch] {
			if math.Abs(v) > tolerance {
				t.Fatalf("channel %d frame %d: the tracks miss the mix by %.2g, want at most %.0g", ch, n, v, tolerance)
			}
		}
	}
}

// The form is audible: the mean level rises from the intro to A and to A'.
func TestDynamics(t *testing.T) {
	f := recordings(t)
	const leastRiseDB = 1 // our choice: about what is just clearly heard as louder
	for i, row := range []struct {
		name       string
		startsSec  []float64 // intro, A, B or A', from the tempo and the bars before
		stretchSec float64
	}{
		{"rough mix", []float64{0, 4 * 4 * 60.0 / 96, 20 * 4 * 60.0 / 96}, 9},
		{"reference", []float64{0, 4 * 4 * 60.0 / 100, 20 * 4 * 60.0 / 100}, 9},
	} {
		before := math.Inf(-1)
		for _, start := range row.startsSec {
			var power float64
			for _, channel := range f.sound[i] {
				for _, v := range channel[int(start*RateHz):int((start+row.stretchSec)*RateHz)] {
					power += v * v
				}
			}
			level := 10 * math.Log10(power)
			if level < before+leastRiseDB {
				t.Errorf("%s: at %.0f s the level is %.1f dB above the section before, want at least %d", row.name, start, level-before, leastRiseDB)
			}
			before = level
		}
	}
}

func TestScore(t *testing.T) {
	for _, row := range []struct {
		name, melody string
		beats        float64
	}{
		{"class theme", classTheme, 32}, {"class bridge", classBridge, 32}, {"ferry theme", ferryTheme, 32}, {"ferry bridge", ferryBridge, 32},
	} {
		if got := newPlayer(tempo{perMinute: 60, swing: 0.5}, 0, 0, 0).sing(0, row.melody, 0, 1, 0); got != row.beats {
			t.Errorf("%s: %g beats, want %g", row.name, got, row.beats)
		}
	}
	for name, want := range map[string]float64{"a4": 69, "c4": 60, "bb3": 58, "f#5": 78} {
		if got := parsePitch(name); got != want {
			t.Errorf("pitch %s: %g, want %g", name, got, want)
		}
	}
	// Between the first two chords of a cadence three voices stay or step.
	v := voiceLead(parseChords("Dm9 G13 Cmaj9"), 53)
	for i := 1; i < len(v); i++ {
		for k := range v[i] {
			if moved := math.Abs(v[i][k] - v[i-1][k]); moved > 2 {
				t.Errorf("chord %d voice %d moves %g semitones, want at most a whole tone", i, k, moved)
			}
		}
	}
	for _, p := range []*Piece{RoughMix(), Finished()} {
		for _, tr := range p.tracks {
			for _, n := range tr.notes {
				if n.startSec+0.1 > p.lengthSec || n.durSec <= 0 || n.loud <= 0 || n.loud > 1 || math.Abs(n.pan) > 1 {
					t.Errorf("%s, %s: impossible note %+v", p.Title, tr.name, n)
				}
			}
		}
		if !strings.HasSuffix(p.FileName, ".wav") {
			t.Errorf("%s: file name %q", p.Title, p.FileName)
		}
	}
}
