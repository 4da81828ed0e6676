package lesson

import (
	"bytes"
	"compress/zlib"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"

	"toneplumb/biquad"
)

// Answers are what the teacher keeps of an exercise.
type Answers struct {
	Mix     string
	Level   Level
	Seed    uint64
	RateHz  int
	FromSec float64
	Tasks   [][]biquad.Filter
}

// ErrBroken says that a sealed file was changed or damaged.
var ErrBroken = errors.New("the seal is broken: the answers were changed or damaged")

// sealNote stands in the file in plain words.
const sealNote = "sealed, not encrypted: not to be read by accident, and a change is noticed; whoever has the program can open it"

type sealJSON struct {
	Version int    `json:"version"`
	Kind    string `json:"kind"`
	Note    string `json:"note"`
	Sealed  string `json:"sealed"` // zlib, base64
	Check   string `json:"check"`  // SHA-256 of what was packed
}

const sealKind = "answers of an exercise"

type answersJSON struct {
	Mix     string       `json:"mix"`
	Level   Level        `json:"level"`
	Seed    uint64       `json:"seed"`
	RateHz  int          `json:"rate_hz"`
	FromSec float64      `json:"from_s"`
	Tasks   [][]taskJSON `json:"tasks"`
}

type taskJSON struct {
	Shape  string  `json:"shape"`
	FreqHz float64 `json:"freq_hz"`
	GainDB float64 `json:"gain_db"`
	Q      float64 `json:"q"`
}

// Seal writes the answers so that nobody reads them at a glance. It is a seal, not a
// lock: no password, no encryption. Our choice: a class needs to be spared an accident,
// and a forgotten password would cost the teacher the answers.
func (a *Answers) Seal(w io.Writer) error {
	d := answersJSON{a.Mix, a.Level, a.Seed, a.RateHz, a.FromSec, [][]taskJSON{}}
	for _, task := range a.Tasks {
		moves := []taskJSON{}
		for _, f := range task {
			moves = append(moves, taskJSON{f.Shape.String(), f.FreqHz, f.GainDB, f.Q})
		}
		d.Tasks = append(d.Tasks, moves)
	}
	plain, err := json.Marshal(d)
	if err != nil {
		return err
	}
	var packed bytes.Buffer
	z := zlib.NewWriter(&packed)
	z.Write(plain)
	if err := z.Close(); err != nil {
		return err
	}
	sum := sha256.Sum256(plain)
	e := json.NewEncoder(w)
	e.SetIndent("", " ")
	return e.Encode(sealJSON{1, sealKind, sealNote, base64.StdEncoding.EncodeToString(packed.Bytes()), hex.EncodeToString(sum[:])})
}

// Bounds of a sealed file; our choice: far beyond any exercise.
const (
	maxSealBytes = 1 << 20
	// MaxTasks is how many renders an exercise has at most.
	MaxTasks = 99
)

// Open reads sealed answers; ErrBroken where the seal does not hold.
func Open(r io.Reader) (*Answers, error) {
	raw, err := io.ReadAll(io.LimitReader(r, maxSealBytes+1))
	if err != nil {
		return nil, err
	}
	var d sealJSON
	switch err := json.Unmarshal(raw, &d); {
	case err != nil || len(raw) > maxSealBytes || d.Kind != sealKind:
		return nil, errors.New("it holds no answers of an exercise")
	case d.Version != 1:
		return nil, fmt.Errorf("its version is %d; only 1 is known", d.Version)
	}
	packed, err := base64.StdEncoding.DecodeString(d.Sealed)
	if err != nil {
		return nil, ErrBroken
	}
	z, err := zlib.NewReader(bytes.NewReader(packed))
	if err != nil {
		return nil, ErrBroken
	}
	plain, err := io.ReadAll(io.LimitReader(z, maxSealBytes))
	if err != nil {
		return nil, ErrBroken
	}
	if sum := sha256.Sum256(plain); hex.EncodeToString(sum[:]) != d.Check {
		return nil, ErrBroken
	}
	var in answersJSON
	if err := json.Unmarshal(plain, &in); err != nil {
		return nil, ErrBroken
	}
	a := &Answers{Mix: in.Mix, Level: in.Level, Seed: in.Seed, RateHz: in.RateHz, FromSec: in.FromSec}
	if len(in.Tasks) == 0 || len(in.Tasks) > MaxTasks || in.RateHz < 8000 || in.RateHz > 192000 {
		return nil, ErrBroken
	}
	for _, moves := range in.Tasks {
		var task []biquad.Filter
		for _, m := range moves {
			shape, known := biquad.ParseShape(m.Shape)
			f := biquad.Filter{Shape: shape, FreqHz: m.FreqHz, GainDB: m.GainDB, Q: m.Q}
			if !known || shape.IsCut() || f.Check(float64(in.RateHz)) != nil || math.Abs(m.GainDB) > 40 || len(task) == 10 {
				return nil, ErrBroken
			}
			task = append(task, f)
		}
		a.Tasks = append(a.Tasks, task)
	}
	return a, nil
}
