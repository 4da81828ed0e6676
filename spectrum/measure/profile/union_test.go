package profile

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode/utf16"
)

// Files give the bytes that their recordings give, in any order and grouping, whatever way
// they were saved in; their tables are not held, and a file that changes meanwhile is said.
func TestUnionOfFiles(t *testing.T) {
	dir := t.TempDir()
	save := func(name string, content []byte) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, content, 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	a, b, c := entry(1, 20), entry(2, 30), entry(3, 25)
	want := written(t, Profile{a, b, c})
	ab, bc := written(t, Profile{b, a}), written(t, Profile{b, c})
	var tight, fine bytes.Buffer
	if err := json.Compact(&tight, bc); err != nil {
		t.Fatal(err)
	}
	if err := (Profile{c}).Write(&fine, 2); err != nil {
		t.Fatal(err)
	}
	utf16LE := []byte{0xff, 0xfe}
	for _, unit := range utf16.Encode([]rune(string(bc))) {
		utf16LE = append(utf16LE, byte(unit), byte(unit>>8))
	}
	for name, files := range map[string][]string{
		"two":        {save("ab.json", ab), save("bc.json", bc)},
		"two, round": {save("bc.json", bc), save("ab.json", ab)},
		"one line":   {save("tight.json", tight.Bytes()), save("ab.json", ab), save("tight.json", tight.Bytes())},
		"UTF-16":     {save("wide.json", utf16LE), save("ab.json", ab)},
		"whole":      {save("whole.json", want)},
		"fine rows":  {save("ab.json", ab), save("fine.json", fine.Bytes())},
	} {
		var u Union
		for _, path := range files {
			file, err := os.Open(path)
			if err != nil {
				t.Fatal(err)
			}
			if err := u.AddFile(file, path); err != nil {
				t.Fatal(err)
			}
			file.Close()
		}
		var got bytes.Buffer
		if err := u.Write(&got); err != nil {
			t.Fatal(err)
		}
		if name != "fine rows" && !bytes.Equal(got.Bytes(), want) { // packed twice, it may be a step off
			t.Errorf("%s gives another profile", name)
		}
		p, err := u.Entries()
		if err != nil || len(p) != 3 || len(readBack(t, got.Bytes())) != 3 {
			t.Errorf("%s: %d entries, %v", name, len(p), err)
		}
	}
	var u Union
	if err := u.AddFile(bytes.NewReader(ab), save("late.json", ab)); err != nil {
		t.Fatal(err)
	}
	p, err := u.Entries()
	if err != nil || p[0].Recording.Power != nil || u.all[0].text != nil {
		t.Errorf("a table is held, %v", err)
	}
	save("late.json", bc)
	if err := u.Write(new(bytes.Buffer)); err == nil || !strings.Contains(err.Error(), `late.json" was changed while it was read`) {
		t.Errorf("changed: %v", err)
	}
	// What is measured and a file of the same are one.
	u = Union{}
	if err := u.Add(Profile{a, b, c}); err != nil {
		t.Fatal(err)
	}
	if err := u.AddFile(bytes.NewReader(want), save("whole.json", want)); err != nil {
		t.Fatal(err)
	}
	var got bytes.Buffer
	if err := u.Write(&got); err != nil || !bytes.Equal(got.Bytes(), want) {
		t.Errorf("measured and read: %v", err)
	}
}

// People look for their records by name, whatever its case, and by number; equal names are sorted so that the bytes stay the same.
func TestRecordingsAreInTheOrderOfTheirNames(t *testing.T) {
	var p Profile
	for seed, name := range []string{"Zebra.wav", "10 b.wav", "a.wav", "A.wav", "2 c.wav", "b 02.wav", "b 2.wav", "a.wav"} {
		e := entry(uint64(seed), 3)
		e.Recording.Name = name
		p = append(p, e)
	}
	var names []string
	for _, r := range readBack(t, written(t, p)).Recordings() {
		names = append(names, r.Name)
	}
	if got := strings.Join(names, "|"); got != "2 c.wav|10 b.wav|A.wav|a.wav|a.wav|b 02.wav|b 2.wav|Zebra.wav" {
		t.Errorf("%s", got)
	}
	turned := slices.Clone(p)
	slices.Reverse(turned)
	if !bytes.Equal(written(t, turned), written(t, p)) {
		t.Error("another order gives other bytes")
	}
}
