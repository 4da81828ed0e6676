package profile

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
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
		p := readBack(t, written(t, Profile{{entry(1, 3).SHA256, r}}))
		got := p.Recordings()[0]
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

// forged changes one recording of a profile and corrects its check, as a forger would.
func forged(t testing.TB, document []byte, change func(e *jsonEntry)) []byte {
	t.Helper()
	var d jsonProfile
	var e jsonEntry
	if err := json.Unmarshal(document, &d); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(d.Recordings[0], &e); err != nil {
		t.Fatal(err)
	}
	packed, err := expand(e.Rows, int(math.Ceil(e.DurationSec/measure.BlockSec)))
	if err != nil {
		t.Fatal(err)
	}
	change(&e)
	if e.Check, err = e.sum(packed); err != nil {
		t.Fatal(err)
	}
	raw, err := json.Marshal(e)
	if err != nil {
		t.Fatal(err)
	}
	d.Recordings[0] = raw
	out, err := json.Marshal(d)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestProfileRefused(t *testing.T) {
	good := written(t, Profile{entry(1, 20)})
	swap := func(old, with string) []byte {
		if !bytes.Contains(good, []byte(old)) {
			t.Fatalf("no %q to change", old)
		}
		return bytes.Replace(good, []byte(old), []byte(with), 1)
	}
	change := func(f func(e *jsonEntry)) []byte { return forged(t, good, f) }
	rows := func(n int, each byte) string { return compress(bytes.Repeat([]byte{each}, n*bytesPerRow)) }
	two := written(t, Profile{entry(1, 20), entry(2, 20)})
	for _, c := range []struct {
		name, want string
		document   []byte
	}{
		{"nothing", "not JSON: line 1", nil},
		{"truncated", "not JSON: line 19", good[:len(good)/2]},
		{"something after it", "not JSON", append(bytes.Clone(good), '1')},
		{"an array", "not a profile of recordings", []byte("[1]")},
		{"another document", "not a profile of recordings", []byte(`{"version":1}`)},
		{"a settings document", "is a settings document, not a recording or profile", []byte(`{"version":1,"moves":[]}`)},
		{"an equaliser", "describes an equaliser", []byte(`{"version":1,"shapes":[]}`)},
		{"a later version", "is a profile of version 2", swap(`"version": 1`, `"version": 2`)},
		{"no version", "without a version", swap(`"version": 1,`, ``)},
		{"a version that is text", `of version "one"`, swap(`"version": 1`, `"version": "one"`)},
		{"no recordings", "without a recording", []byte(`{"version":1,"kind":"recordings without sound","recordings":[]}`)},
		{"recordings that are a number", "does not belong there", []byte(`{"version":1,"kind":"recordings without sound","recordings":7}`)},
		{"a recording that is a number", "does not belong there", []byte(`{"version":1,"kind":"recordings without sound","recordings":[7]}`)},
		{"an unknown field", "does not belong there", swap(`"kind"`, `"colour": 1, "kind"`)},
		{"an unknown field of a recording", "does not belong there", swap(`"file"`, `"colour": 1, "file"`)},
		{"not a number", "not JSON", swap(`"duration_s": 20`, `"duration_s": NaN`)},
		{"a number beyond floating point", "does not belong there", swap(`"duration_s": 20`, `"duration_s": 1e999`)},
		{"a figure changed", "was changed after it was made", swap(`"rate_hz": 44100`, `"rate_hz": 48000`)},
		{"a name changed", "was changed after it was made", swap(`number 1`, `number 9`)},
		{"a longer duration", "damaged", change(func(e *jsonEntry) { e.DurationSec = 90 })},
		{"a duration of 30 years", "its duration_s is 1e+09", change(func(e *jsonEntry) { e.DurationSec = 1e9 })},
		{"no duration", "its duration_s is -1", change(func(e *jsonEntry) { e.DurationSec = -1 })},
		{"a step of 3", "its step_s is 3", change(func(e *jsonEntry) { e.StepSec = 3 })},
		{"a step of 0", "its step_s is 0", change(func(e *jsonEntry) { e.StepSec = 0 })},
		{"a rate of 0", "its rate_hz is 0", change(func(e *jsonEntry) { e.RateHz = 0 })},
		{"a loudness", "its loudness_lufs is 900", change(func(e *jsonEntry) { e.LoudnessLUFS = 900 })},
		{"an invalid SHA-256", "its sha256 is none", change(func(e *jsonEntry) { e.SHA256 = "12" })},
		{"a SHA-256 in capitals", "its sha256 is none", change(func(e *jsonEntry) { e.SHA256 = strings.ToUpper(e.SHA256) })},
		{"control characters", "control characters", change(func(e *jsonEntry) { e.File = "a\x1b[2J.wav" })},
		{"a name of 5000 letters", "too long", change(func(e *jsonEntry) { e.File = strings.Repeat("a", 5000) })},
		{"a path", "not a name alone", change(func(e *jsonEntry) { e.File = "../../a.wav" })},
		{"a remark in two lines", "control characters", change(func(e *jsonEntry) { e.Remarks = []codec.Remark{{Kind: codec.FFmpegStopped, Text: "a\nb"}} })},
		{"a remark not known", "its remark \"sings\" is not known", change(func(e *jsonEntry) { e.Remarks = []codec.Remark{{Kind: "sings"}} })},
		{"a warning in two lines", "control characters", change(func(e *jsonEntry) { e.Warnings = []string{"a\nb"} })},
		{"rows that are not base64", "damaged", change(func(e *jsonEntry) { e.Rows = "nothing" })},
		{"no rows", "damaged", change(func(e *jsonEntry) { e.Rows = rows(0, 0) })},
		{"rows too many", "damaged", change(func(e *jsonEntry) { e.Rows = rows(4, 1) })},
		{"20000 rows", "damaged", change(func(e *jsonEntry) { e.Rows = rows(20000, 0) })},
		{"a gate over 1", "damaged", change(func(e *jsonEntry) { e.Rows = rows(3, 255) })},
		{"other rows", "was changed after it was made", change(func(e *jsonEntry) { e.Rows = rows(3, 7) })},
		{"one recording twice", "recording 2 is there twice", func() []byte {
			var d jsonProfile
			json.Unmarshal(two, &d)
			d.Recordings[1] = d.Recordings[0]
			b, _ := json.Marshal(d)
			return b
		}()},
	} {
		p, err := Read(bytes.NewReader(c.document), "house.json")
		var e *audio.Error
		if !errors.As(err, &e) || e.Path != "house.json" || e.Hint == "" || !strings.Contains(e.Problem, c.want) || p != nil {
			t.Errorf("%s: %v, want %q with a hint", c.name, err, c.want)
		}
	}
	if got := readBack(t, append([]byte("\xef\xbb\xbf \n"), good...)); len(got) != 1 {
		t.Error("a byte order mark and blanks make it unreadable")
	}
	silent := song(1, 20)
	clear(silent.Power)
	var b bytes.Buffer
	if err := (Profile{{entry(1, 3).SHA256, silent}}).Write(&b, measure.BlockSec); err != nil {
		t.Fatal(err)
	}
	if _, err := Read(&b, "house.json"); err == nil || !strings.Contains(err.Error(), "is silent") {
		t.Errorf("silence: %v", err)
	}
	long := song(1, 20)
	long.DurationSec = 2 * maxSec
	if err := (Profile{{entry(1, 3).SHA256, long}}).Write(&b, measure.BlockSec); err == nil {
		t.Error("a recording of two days is written, and could not be read")
	}
}

// A document that announces a large table does not make Read allocate memory for it.
func TestProfileAllocatesForWhatIsThere(t *testing.T) {
	lie := forged(t, written(t, Profile{entry(1, 20)}), func(e *jsonEntry) { e.DurationSec, e.StepSec = maxSec, 1 })
	const most = 4 << 20 // bytes; the day claimed would take 160 MB
	result := testing.Benchmark(func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			Read(bytes.NewReader(lie), "house.json")
		}
	})
	if n := result.AllocedBytesPerOp(); n > most {
		t.Errorf("%d bytes for a document of %d, want ≤ %d", n, len(lie), most)
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

// FuzzProfile reads documents unchanged, and also with the check corrected if only that is
// wrong, so that the code after it is reached too.
func FuzzProfile(f *testing.F) {
	good := written(f, Profile{entry(1, 20), entry(2, 9.3)})
	f.Add(written(f, Profile{entry(3, 3)}))
	f.Add(good[:len(good)/3])
	f.Add([]byte(`{"version":1,"kind":"recordings without sound","recordings":[{}]}`))
	f.Add([]byte(`{"version":1,"rate_hz":44100,"moves":[],"trim_db":0}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		useProfile(t, b)
		if b, ok := rechecked(b); ok {
			useProfile(t, b)
		}
	})
}

// FuzzProfileRows makes a profile from any table and figures, compressed and with a correct
// check: random changes to bytes would never pass these.
func FuzzProfileRows(f *testing.F) {
	d, packed, err := entry(1, 20).document(measure.BlockSec)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(packed, d.File, d.StepSec, d.RateHz, d.Channels, d.DurationSec, d.LoudnessLUFS, 16000.0, true)
	f.Add(packed[:bytesPerRow], "", 1, 8000, 255, 3.0, -69.9, 0.0, false)
	f.Fuzz(func(t *testing.T, packed []byte, file string, stepSec, rateHz, channels int, durationSec, loudnessLUFS, cutoffHz float64, whole bool) {
		d := *d
		d.File, d.StepSec, d.RateHz, d.Channels, d.DurationSec, d.LoudnessLUFS = file, stepSec, rateHz, channels, durationSec, loudnessLUFS
		if d.CutoffHz = nil; cutoffHz != 0 {
			d.CutoffHz = &cutoffHz
		}
		if !whole {
			d.Programme = nil
		}
		packed = packed[:len(packed)/bytesPerRow*bytesPerRow]
		var err error
		if d.Check, err = d.sum(packed); err != nil {
			return // what JSON cannot hold
		}
		d.Rows = compress(packed)
		raw, err := json.Marshal(d)
		if err != nil {
			t.Fatal(err)
		}
		b, err := json.Marshal(jsonProfile{Version: version, Kind: documentKind, Recordings: []json.RawMessage{raw}})
		if err != nil {
			t.Fatal(err)
		}
		useProfile(t, b)
	})
}

// rechecked corrects the check of each recording.
func rechecked(b []byte) ([]byte, bool) {
	var d jsonProfile
	if json.Unmarshal(b, &d) != nil {
		return nil, false
	}
	for i, raw := range d.Recordings {
		var e jsonEntry
		if json.Unmarshal(raw, &e) != nil || !(e.DurationSec > 0 && e.DurationSec < 1e4) || e.StepSec < 1 {
			return nil, false
		}
		packed, err := expand(e.Rows, int(math.Ceil(e.DurationSec/float64(e.StepSec))))
		if err != nil {
			return nil, false
		}
		if e.Check, err = e.sum(packed); err != nil {
			return nil, false
		}
		if d.Recordings[i], err = json.Marshal(e); err != nil {
			return nil, false
		}
	}
	b, err := json.Marshal(d)
	return b, err == nil
}

// useProfile reads a document and, if it is a profile, uses it as a comparison does.
func useProfile(t *testing.T, b []byte) {
	p, err := Read(bytes.NewReader(b), "house.json")
	if err != nil {
		var e *audio.Error
		if !errors.As(err, &e) || strings.ContainsAny(e.Problem, "\x00\x1b\n") {
			t.Fatalf("error %q", err)
		}
		return
	}
	for _, r := range p.Recordings() {
		sum := r.MusicSec() + r.Through(r.MeanPower(nil)).LoudnessLUFS
		for _, x := range r.MeanPower(r.GateWeights()) {
			sum += x
		}
		stereo := r.Stereo()
		for b := range stereo.Mid {
			sum += stereo.Mid[b] + stereo.Side[b]
		}
		if math.IsNaN(sum) {
			t.Fatal("not a number in what was read")
		}
		if part, err := r.Part(r.Loudest(8)); err == nil && math.IsNaN(part.LoudnessLUFS) {
			t.Fatal("a part has no loudness")
		}
	}
	first := written(t, p)
	if again := written(t, readBack(t, first)); !bytes.Equal(again, first) {
		t.Fatal("what was read is written otherwise")
	}
}
