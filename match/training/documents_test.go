package training

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"math"
	"reflect"
	"strings"
	"testing"

	"toneplumb/biquad"
)

// Sheets as people's programs write them.
func TestReadSheet(t *testing.T) {
	want := [][]biquad.Filter{
		{{Shape: biquad.LowShelf, FreqHz: 120, GainDB: 3, Q: biquad.QFromSlope(0.7, 3)}, {Shape: biquad.Bell, FreqHz: 1200, GainDB: -2.5, Q: 1.4}},
		nil,
		{{Shape: biquad.HighShelf, FreqHz: 6000, GainDB: 3.5, Q: biquad.QFromSlope(0.7, 3.5)}},
	}
	for name, text := range map[string]string{
		"as written":              "render,shape,freq_hz,gain_db,q\n1,low-shelf,120,3,\n1,bell,1200,-2.5,1.4\n2,,,,\n3,high-shelf,6000,3.5,\n",
		"semicolons, mark, CRLF":  "\xef\xbb\xbfrender;shape;freq_hz;gain_db;q\r\n1;Low Shelf;120;+3,0;\r\n1;BELL;1,2k;−2,5;1,4\r\n;;;;\r\n3;high_shelf;6 kHz;3,5 dB;\r\n",
		"tabs, other order":       "Shape\tRender\tgain_db\tfreq_hz\tremarks\tq\nlow shelf\t1\t3\t120 Hz\tboomy\t\nbell\t1\t-2.5\t1.2 k\t\t1.4\nhigh shelf\t3\t3.5\t6k\t\t\n",
		"quotes, notes, no q of3": "# Anna\nrender,shape,freq_hz,gain_db,q\n\"1\",\"low-shelf\",\"120\",\"3\",\"\"\n1,bell,\"1,2k\",-2.5,1.4\n\n3,high-shelf,6000,3.5\n2,bell,500,0,\n",
	} {
		got, err := ReadSheet(strings.NewReader(text), 3)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		for i := range want {
			if len(got[i]) != len(want[i]) {
				t.Errorf("%s: render %d: %v", name, i+1, got[i])
				continue
			}
			for j := range want[i] {
				if got[i][j] != want[i][j] {
					t.Errorf("%s: render %d: %v, want %v", name, i+1, got[i][j], want[i][j])
				}
			}
		}
	}
	for text, want := range map[string]string{
		"":                                          "it is empty",
		"render,shape\n1,bell\n":                    `line 1: there is no column "freq_hz"; the first line must name render,shape,freq_hz,gain_db`,
		head + "4,bell,100,3,\n":                    "line 2: render 4 is not between 1 and 3",
		head + "1.5,bell,100,3,\n":                  "line 2: render 1.5 is no whole number",
		head + "x,bell,100,3,\n":                    `line 2: render "x" is no number`,
		head + "1,bump,100,3,\n":                    `line 2: there is no shape "bump"; low-shelf, bell and high-shelf are known`,
		head + "1,low-cut,100,,\n":                  "line 2: there are no cuts in an exercise; low-shelf, bell and high-shelf are hidden",
		head + "1,bell,,3,\n":                       "line 2: freq_hz is empty",
		head + "1,bell,1,2k,3,1\n":                  "line 2 has 6 values under 5 columns; beside decimal commas put ; between them",
		head + "1,bell,100,NaN,\n":                  `line 2: gain_db "NaN" is no number`,
		head + "1,bell,100,99,\n":                   "line 2: gain_db 99 is not between -24 and 24",
		head + strings.Repeat("1,bell,100,3,\n", 6): "line 7: more than 5 moves in render 1",
	} {
		if _, err := ReadSheet(strings.NewReader(text), 3); err == nil || err.Error() != want {
			t.Errorf("%q: %v, want %s", text, err, want)
		}
	}
}

// A Q that was left empty is judged as the usual one.
func TestEmptyQ(t *testing.T) {
	heard, err := ReadSheet(strings.NewReader(head+"1,bell,1000,4,\n"), 1)
	if err != nil {
		t.Fatal(err)
	}
	hidden := []biquad.Filter{bell(1000, 4, 1)}
	m := MarkAnswer(hidden, heard[0], 48000)
	if want := MarkAnswer(hidden, hidden, 48000); m.OffDB != want.OffDB || m.Score() != 1 {
		t.Errorf("%g dB off, want %g", m.OffDB, want.OffDB)
	}
}

const head = "render,shape,freq_hz,gain_db,q\n"

func FuzzSheet(f *testing.F) {
	f.Add([]byte(head + "1,bell,1.2k,-3,1\n"))
	f.Add([]byte("\xef\xbb\xbfrender;shape;freq_hz;gain_db;q\r\n1;Low Shelf;120;+3,0;\r\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		heard, err := ReadSheet(bytes.NewReader(data), 12)
		if err != nil {
			return
		}
		for _, moves := range heard {
			m := MarkAnswer([]biquad.Filter{bell(1000, 3, 1)}, moves, 48000)
			if math.IsNaN(m.OffDB) || math.IsInf(m.OffDB, 0) {
				t.Errorf("%v: %g dB", moves, m.OffDB)
			}
		}
	})
}

func FuzzOpen(f *testing.F) {
	var b bytes.Buffer
	(&Answers{Mix: "mix.wav", Rules: Easy.Rules(), Seed: 1, RateHz: 44100, Tasks: tasksOf(f, 2, Easy, 1)}).Seal(&b, "")
	f.Add(b.Bytes())
	f.Fuzz(func(t *testing.T, data []byte) {
		a, err := Open(bytes.NewReader(data), "")
		if err != nil {
			return
		}
		for _, task := range a.Tasks {
			if m := MarkAnswer(task, nil, float64(a.RateHz)); math.IsNaN(m.OffDB) {
				t.Errorf("%v", task)
			}
		}
	})
}

// opened writes a file of answers and opens it.
func opened(t *testing.T, d sealJSON, password string) (*Answers, error) {
	d.Version, d.Kind = 2, sealKind
	file, err := json.Marshal(d)
	if err != nil {
		t.Fatal(err)
	}
	return Open(bytes.NewReader(file), password)
}

// fuzzLockRounds makes locks quick, which are slow on purpose: a lock is then 0.1 ms in
// place of 0.1 s.
func fuzzLockRounds(f *testing.F) {
	usual := lockRounds
	lockRounds = 1
	f.Cleanup(func() { lockRounds = usual })
}

// FuzzAnswers seals and locks whatever text, right check and all, and opens it: what
// FuzzOpen's bytes hardly ever reach.
func FuzzAnswers(f *testing.F) {
	f.Add([]byte(`{"mix":"mix.wav","level":"easy","seed":1,"rate_hz":44100,"from_s":3,"tasks":[[{"shape":"bell","freq_hz":1000,"gain_db":-6,"q":1}],[]]}`))
	f.Add([]byte(`{"rate_hz":8000,"tasks":[[{"shape":"high-shelf","freq_hz":3999,"gain_db":40,"q":0.1},{"shape":"low-cut","freq_hz":30}]]}`))
	f.Add([]byte(`{"rate_hz":1e9,"tasks":null}`))
	fuzzLockRounds(f)
	f.Fuzz(func(t *testing.T, plain []byte) {
		packed, err := pack(plain)
		if err != nil {
			t.Fatal(err)
		}
		sum := sha256.Sum256(plain)
		a, err := opened(t, sealJSON{Sealed: packed, Check: hex.EncodeToString(sum[:])}, "")
		const password = "otter mill"
		salt, locked, lockErr := lock(plain, password)
		if lockErr != nil {
			t.Fatal(lockErr)
		}
		if b, lockedErr := opened(t, sealJSON{Salt: salt, Locked: locked}, password); !reflect.DeepEqual(a, b) || (err == nil) != (lockedErr == nil) {
			t.Errorf("sealed %+v, %v; locked %+v, %v", a, err, b, lockedErr)
		}
		if _, err := opened(t, sealJSON{Salt: salt, Locked: locked}, "another"); err != ErrPassword {
			t.Errorf("with another password: %v", err)
		}
		if err != nil {
			return
		}
		for i, task := range a.Tasks {
			heard := a.Tasks[(i+1)%len(a.Tasks)]
			if m := MarkAnswer(task, heard, float64(a.RateHz)); math.IsNaN(m.OffDB) || math.IsInf(m.OffDB, 0) {
				t.Errorf("%v heard as %v: %g dB", task, heard, m.OffDB)
			}
		}
		var again bytes.Buffer
		if err := a.Seal(&again, ""); err != nil {
			t.Fatal(err)
		}
		if b, err := Open(bytes.NewReader(again.Bytes()), ""); err != nil || !reflect.DeepEqual(a, b) {
			t.Errorf("sealed again: %+v, %v; want %+v", b, err, a)
		}
	})
}
