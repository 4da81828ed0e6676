package cli

import (
	"bytes"
	"encoding/binary"
	"os"
	"reflect"
	"strings"
	"testing"
	"unicode/utf16"

	"toneplumb/biquad"
	"toneplumb/match/document"
	"toneplumb/match/probe"
	"toneplumb/match/training"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure/profile"
)

// inUTF16 is a text as Windows programs save it, after a byte order mark.
func inUTF16(text []byte, order binary.AppendByteOrder) []byte {
	var b []byte
	for _, c := range utf16.Encode([]rune("\ufeff" + string(text))) {
		b = order.AppendUint16(b, c)
	}
	return b
}

// Every text that people may have edited is read in UTF-16 as in UTF-8.
func TestUTF16(t *testing.T) {
	var answers, prints bytes.Buffer
	(&training.Answers{Mix: "mix.wav", Rules: training.Easy.Rules(), Seed: 1, RateHz: 44100, Tasks: [][]biquad.Filter{{{Shape: biquad.Bell, FreqHz: 1000, GainDB: 3, Q: 1}}, nil}}).Seal(&answers, "")
	probe.WritePlan(&prints, probe.Plan())
	dir := t.TempDir()
	profile := func(b []byte) (any, error) {
		if !profile.Is(b[:min(512, len(b))]) {
			t.Error("a profile does not look like one")
		}
		return profile.Read(bytes.NewReader(b), "a.json")
	}
	phrases(t, dir+"/a.wav", 8000, 2, audio.PCM16, 5)
	ran(t, "profile", dir+"/a.wav", "-o", dir+"/a.json")
	made, err := os.ReadFile(dir + "/a.json")
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		name string
		text []byte
		read func(b []byte) (any, error)
	}{
		{"curve", []byte("freq_hz,gain_db\n20,0\n1000,3 # a bell\n20000,0\n"), func(b []byte) (any, error) { return document.ParseCurve(bytes.NewReader(b)) }},
		{"settings", []byte(`{"version":1,"rate_hz":44100,"moves":[{"shape":"bell","freq_hz":1000,"gain_db":-3,"q":0.7}],"trim_db":0.5}`),
			func(b []byte) (any, error) { return document.ReadSettings(bytes.NewReader(b)) }},
		{"equaliser", []byte(`{"version":1,"name":"Höhen","shapes":[{"shape":"bell"}]}`), func(b []byte) (any, error) { return document.ParseEqualiser(b) }},
		{"prints", prints.Bytes(), func(b []byte) (any, error) { return probe.ReadPlan(bytes.NewReader(b)) }},
		{"sheet", []byte("render;shape;freq_hz;gain_db;q\r\n1;Low Shelf;120;+3,0;\r\n"), func(b []byte) (any, error) { return training.ReadSheet(bytes.NewReader(b), 2) }},
		{"answers", answers.Bytes(), func(b []byte) (any, error) { return training.Open(bytes.NewReader(b), "") }},
		{"profile", made, profile},
	} {
		want, err := row.read(row.text)
		if err != nil {
			t.Fatalf("%s: %v", row.name, err)
		}
		for _, order := range []binary.AppendByteOrder{binary.LittleEndian, binary.BigEndian} {
			if got, err := row.read(inUTF16(row.text, order)); err != nil || !reflect.DeepEqual(got, want) {
				t.Errorf("%s, %v: %v, %v; want %v", row.name, order, got, err, want)
			}
		}
		if got, err := row.read(append([]byte("\xef\xbb\xbf"), row.text...)); err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%s, UTF-8 after a mark: %v, %v", row.name, got, err)
		}
	}
	curve := write(t, dir, "curve.csv", inUTF16([]byte("20,0\n1000,3\n20000,0\n"), binary.LittleEndian))
	eq := write(t, dir, "eq.json", inUTF16([]byte(`{"version":1,"shapes":[{"shape":"bell"}]}`), binary.BigEndian))
	if text := ran(t, "fit", curve, "--eq", eq); !strings.Contains(text, "bell") {
		t.Errorf("no bell for a drawn bell:\n%s", text)
	}
}
