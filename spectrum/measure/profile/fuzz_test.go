package profile

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

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
