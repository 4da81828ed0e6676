package profile

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"
	"unicode/utf8"

	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure"
)

// song invents the table of a recording. Its bands fall with frequency like music, but vary
// independently from second to second, which compresses worse than any music.
func song(seed uint64, seconds float64) *measure.Recording {
	rng := rand.New(rand.NewPCG(seed, 3))
	r := &measure.Recording{
		Path:   fmt.Sprintf("songs/number %d.wav", seed),
		Name:   fmt.Sprintf("number %d.wav", seed),
		Format: audio.Format{Container: "WAV", RateHz: 44100, Channels: 2, Bits: 16, Frames: -1},
		RowSec: 1, DurationSec: seconds, Rows: int(math.Ceil(seconds - 1.0/6)), CutoffHz: 16000.4,
	}
	k := loudness.Weighting(spectrum.Centres(), 44100)
	for row := range r.Rows {
		level, weighted := -40+6*rng.NormFloat64(), 0.0
		if r.Rows > 20 && row > r.Rows-6 {
			level -= 60 // the end fades
		}
		for b := range spectrum.BandCount {
			p := spectrum.DBToPower(level - 0.1*float64(b) + 5*rng.NormFloat64())
			r.Power = append(r.Power, float32(p))
			cross := rng.Float64() - 0.3 // of the power
			r.Width = append(r.Width, measure.WidthOf(1+cross, 1-cross))
			weighted += k[b] * p
		}
		for range loudness.StepsPerSecond {
			r.StepPower = append(r.StepPower, weighted)
		}
	}
	r.LoudnessLUFS = loudness.Integrated(r.StepPower)
	return r
}

func entry(seed uint64, seconds float64) Entry {
	sum := sha256.Sum256([]byte{byte(seed)})
	return Entry{SHA256: hex.EncodeToString(sum[:]), Recording: song(seed, seconds)}
}

func written(t testing.TB, p Profile) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := p.Write(&b, measure.BlockSec); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func merged(t *testing.T, all ...Profile) Profile {
	t.Helper()
	var u Union
	for _, p := range all {
		if err := u.Add(p); err != nil {
			t.Fatal(err)
		}
	}
	p, err := u.Entries()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func readBack(t testing.TB, b []byte) Profile {
	t.Helper()
	p, err := Read(bytes.NewReader(b), "house.json")
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestProfileKeepsTheMeanSpectrum(t *testing.T) {
	// What it is to hold: 0.0025 dB come of the levels' steps, the rest of the gate's,
	// which are coarser beside few rows.
	const toleranceDB, shortDB = 0.01, 0.02
	for _, seconds := range []float64{3, 8, 9.1, 70.5, 239.9} {
		r := song(1, seconds)
		most := toleranceDB
		if seconds < 30 {
			most = shortDB
		}
		r.Programme = measure.Programme{WholeLUFS: -14, ClippedPlaces: int(seconds) / 8} // 0 is not written
		p := readBack(t, written(t, Profile{{entry(1, 3).SHA256, r}}))
		got := p.Recordings()[0]
		if got.Programme != r.Programme {
			t.Errorf("%g s: %+v, want %+v", seconds, got.Programme, r.Programme)
		}
		a, b := r.MeanPower(r.GateWeights()), got.MeanPower(got.GateWeights())
		for band := range a {
			if d := spectrum.PowerToDB(b[band] / a[band]); !(math.Abs(d) < most) {
				t.Errorf("%g s, band %d: %.4f dB away, want ≤ %g", seconds, band, d, most)
				break
			}
		}
		if d := got.MusicSec() - r.MusicSec(); math.Abs(d) > 1 { // its last second lasts whole
			t.Errorf("%g s: %.2f s of music, want %.2f", seconds, got.MusicSec(), r.MusicSec())
		}
		if got.Name != "number 1.wav" || got.CutoffHz != 16000 || math.Abs(got.LoudnessLUFS-r.LoudnessLUFS) > 0.0005 {
			t.Errorf("%g s: %q, cut-off %g Hz, %g LUFS", seconds, got.Name, got.CutoffHz, got.LoudnessLUFS)
		}
	}
}

func TestProfileRoundTrip(t *testing.T) {
	mono, silentBands, names := entry(2, 30), entry(3, 30), entry(4, 30)
	for i := range mono.Recording.Width {
		mono.Recording.Width[i] = measure.Width(math.MaxInt16)
	}
	for i := range silentBands.Recording.Power {
		if i%3 > 0 { // 1e-25 is below what is kept
			silentBands.Recording.Power[i], silentBands.Recording.Width[i] = 1e-25*float32(i%3-1), 0
		}
	}
	names.Recording.Name = "red \x1b[31m \xff\xfe\n.wav"
	names.Recording.Warnings = []codec.Remark{codec.StopsAt(44100, 50000, 44100), {Kind: codec.FFmpegComplains, Text: "it\tstops"}, {Kind: codec.Quoted, Text: strings.Repeat("é", 2000)}}
	first := written(t, Profile{entry(1, 8.0004), mono, silentBands, names, entry(5, 2.9996)})
	if again := written(t, readBack(t, first)); !bytes.Equal(again, first) {
		t.Error("what was read is written otherwise")
	}
	for _, r := range readBack(t, first).Recordings() {
		if words := r.Name + fmt.Sprint(r.Warnings); strings.ContainsAny(words, "\x1b\n\t") || !utf8.ValidString(words) {
			t.Errorf("control characters in %q or %v", r.Name, r.Warnings)
		}
	}
}

func TestMergeIsAUnion(t *testing.T) {
	a, b, c := Profile{entry(1, 20)}, Profile{entry(2, 30), entry(3, 25)}, Profile{entry(4, 12)}
	other := entry(1, 20) // the same file under another name
	other.Recording.Name = "copy.wav"
	c = append(c, other)
	// Each side once as measured and once as read from a file.
	file := func(p Profile) Profile { return readBack(t, written(t, p)) }
	want := written(t, merged(t, a, b, c))
	for name, p := range map[string]Profile{
		"(A+B)+C":        merged(t, file(merged(t, a, b)), c),
		"A+(B+C)":        merged(t, a, file(merged(t, b, c))),
		"C+B+A":          merged(t, c, b, a),
		"files, twice":   merged(t, file(c), file(a), file(b), file(a), c),
		"B in two parts": merged(t, b[1:], a, c, b[:1]),
	} {
		if !bytes.Equal(written(t, p), want) {
			t.Errorf("%s gives another profile than A+B+C", name)
		}
	}
	if n := len(readBack(t, want)); n != 4 {
		t.Errorf("%d recordings, want 4", n)
	}
	ab, ba := written(t, merged(t, a, b)), written(t, merged(t, b, a))
	if !bytes.Equal(ab, ba) {
		t.Error("A+B is not B+A")
	}
}

func TestProfileSize(t *testing.T) {
	var p Profile
	for seed := range 10 {
		p = append(p, entry(uint64(seed), 240))
	}
	const most = 300_000 // bytes, the aim for ten songs of four minutes
	if n := len(written(t, p)); n > most {
		t.Errorf("ten songs of 4 min take %d bytes, want ≤ %d", n, most)
	} else {
		t.Logf("ten songs of 4 min of noise take %d bytes", n)
	}
}

func TestPassagesOfAProfile(t *testing.T) {
	r := song(6, 75)
	profile := readBack(t, written(t, Profile{{entry(1, 3).SHA256, r}})).Recordings()[0]
	part, err := profile.Part(measure.Passages{{17, 20}, {22, 41}, {70, 75}})
	if err != nil {
		t.Fatal(err)
	}
	if want := (measure.Passages{{16, 48}, {64, 75}}); !reflect.DeepEqual(part.Counted, want) {
		t.Errorf("passages %v, want %v", part.Counted, want)
	}
	whole, err := r.Part(part.Counted)
	if err != nil {
		t.Fatal(err)
	}
	a, b := whole.MeanPower(whole.GateWeights()), part.MeanPower(part.GateWeights())
	mean, square := 0.0, 0.0
	for band := range a {
		d := spectrum.PowerToDB(b[band]/a[band]) / spectrum.BandCount
		mean, square = mean+d, square+d*d*spectrum.BandCount
	}
	// The gate of a profile is that of the whole recording, not of the part.
	if rms := math.Sqrt(square - mean*mean); !(rms < 0.1) {
		t.Errorf("the tone of the part is %.4f dB from the recording's", rms)
	}
	if d := part.LoudnessLUFS - whole.LoudnessLUFS; math.Abs(d) > 1 { // means of 8 s, and the −10 LU gate
		t.Errorf("%.2f LUFS, the recording's part has %.2f", part.LoudnessLUFS, whole.LoudnessLUFS)
	}
	if p, q := r.Loudest(24), profile.Loudest(24); !reflect.DeepEqual(p, q) || p.Sec() < 24 {
		t.Errorf("loudest: %v of the recording, %v of its profile", p, q)
	}
}
