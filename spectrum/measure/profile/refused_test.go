package profile

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/measure"
)

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
