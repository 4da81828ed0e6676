package training

import (
	"bytes"
	"compress/zlib"
	"crypto/aes"
	"crypto/cipher"
	"crypto/hmac"
	"crypto/pbkdf2"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"toneplumb/biquad"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// Answers are the teacher's record of an exercise.
type Answers struct {
	Mix     string
	Rules   Rules // without MostGainDB, BellQ and Thirds, which only drawing needs
	Seed    uint64
	RateHz  int
	FromSec float64
	Tasks   [][]biquad.Filter
}

// Reasons why answers cannot be opened.
var (
	ErrBroken   = errors.New("the seal is broken: the answers were changed or damaged")
	ErrLocked   = finding.PasswordWrong.Of(errors.New("the answers are locked"))
	ErrPassword = finding.PasswordWrong.Of(errors.New("the password is another one, or the answers were changed"))
)

// Notes written in the file in plain text.
const (
	sealNote = "sealed, not locked: it cannot be read by accident and a change is noticed, but anyone with toneplumb can open it"
	lockNote = "locked with a password: AES-256-GCM, its key by PBKDF2 with SHA-256"
)

type sealJSON struct {
	Version int    `json:"version"`
	Kind    string `json:"kind"`
	Note    string `json:"note"`
	Sealed  string `json:"sealed,omitempty"` // zlib, base64
	Check   string `json:"check,omitempty"`  // SHA-256 of what was packed
	Locked  []byte `json:"locked,omitempty"`
	Salt    []byte `json:"salt,omitempty"`
}

const sealKind = "answers of an exercise"

type answersJSON struct {
	Mix     string       `json:"mix"`
	Level   Difficulty   `json:"level,omitempty"` // version 1, in place of rules
	Rules   *Rules       `json:"rules,omitempty"`
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

// Seal writes the answers so that they cannot be read by accident or, with a password, only with
// it. Without one it is a seal, not a lock: our choice, since that is enough in a class and there
// is no password to forget.
func (a *Answers) Seal(w io.Writer, password string) error {
	in := answersJSON{Mix: a.Mix, Rules: &a.Rules, Seed: a.Seed, RateHz: a.RateHz, FromSec: a.FromSec, Tasks: [][]taskJSON{}}
	for _, task := range a.Tasks {
		moves := []taskJSON{}
		for _, f := range task {
			moves = append(moves, taskJSON{f.Shape.String(), f.FreqHz, f.GainDB, f.Q})
		}
		in.Tasks = append(in.Tasks, moves)
	}
	plain, err := json.Marshal(in)
	if err != nil {
		return err
	}
	d := sealJSON{Version: 2, Kind: sealKind, Note: sealNote}
	if password != "" {
		d.Note = lockNote
		d.Salt, d.Locked, err = lock(plain, password)
	} else {
		d.Sealed, err = pack(plain)
		d.Check = checkOf(plain)
	}
	if err != nil {
		return err
	}
	e := json.NewEncoder(w)
	e.SetIndent("", " ")
	return e.Encode(d)
}

func pack(plain []byte) (string, error) {
	var packed bytes.Buffer
	z := zlib.NewWriter(&packed)
	z.Write(plain)
	err := z.Close()
	return base64.StdEncoding.EncodeToString(packed.Bytes()), err
}

func unpack(sealed string) ([]byte, error) {
	z, err := zlib.NewReader(base64.NewDecoder(base64.StdEncoding, strings.NewReader(sealed)))
	if err != nil {
		return nil, err
	}
	return io.ReadAll(io.LimitReader(z, maxSealBytes))
}

func checkOf(plain []byte) string { return fmt.Sprintf("%x", sha256.Sum256(plain)) }

// lockRounds slows down guessing. Source: OWASP's advice for PBKDF2 with SHA-256, from memory. It
// is a variable because the fuzz test needs a quicker lock.
var lockRounds = 600_000

// lock encrypts with a key that no other text shares, so that the nonce may be zero: the salt is
// a digest of password and text. The same answers give the same bytes.
func lock(plain []byte, password string) (salt, locked []byte, err error) {
	mac := hmac.New(sha256.New, []byte(password))
	mac.Write(plain)
	salt = mac.Sum(nil)[:16]
	aead, err := keyed(password, salt)
	if err != nil {
		return nil, nil, err
	}
	return salt, aead.Seal(nil, make([]byte, aead.NonceSize()), plain, nil), nil
}

func keyed(password string, salt []byte) (cipher.AEAD, error) {
	key, err := pbkdf2.Key(sha256.New, password, salt, lockRounds, 32)
	if err != nil {
		return nil, err
	}
	block, err := aes.NewCipher(key)
	if err != nil {
		return nil, err
	}
	return cipher.NewGCM(block)
}

// Bounds of a sealed file; our choice: far beyond any exercise.
const (
	maxSealBytes = 1 << 20
	// MaxTasks is the largest number of renders in an exercise.
	MaxTasks = 99
)

// Open reads sealed answers, or locked ones with their password. If they cannot be opened, the
// error is [ErrBroken], [ErrLocked] or [ErrPassword], or says that the file holds no answers.
func Open(r io.Reader, password string) (*Answers, error) {
	raw, err := io.ReadAll(io.LimitReader(measure.Text(r), maxSealBytes+1))
	if err != nil {
		return nil, err
	}
	var d sealJSON
	switch err := json.Unmarshal(raw, &d); {
	case err != nil || len(raw) > maxSealBytes || d.Kind != sealKind:
		return nil, errors.New("it holds no answers of an exercise")
	case d.Version != 1 && d.Version != 2:
		return nil, finding.OtherVersion.Of(fmt.Errorf("its version is %d; 1 and 2 are known", d.Version))
	}
	plain, err := d.plain(password)
	if err != nil {
		return nil, err
	}
	var in answersJSON
	if err := json.Unmarshal(plain, &in); err != nil {
		return nil, ErrBroken
	}
	return in.answers()
}

// answers checks and returns what was sealed, or ErrBroken if no exercise can be like that.
func (in *answersJSON) answers() (*Answers, error) {
	if in.Rules == nil {
		r := in.Level.Rules()
		in.Rules = &Rules{Name: string(in.Level), MostMoves: r.MostMoves}
	}
	a := &Answers{Mix: in.Mix, Rules: *in.Rules, Seed: in.Seed, RateHz: in.RateHz, FromSec: in.FromSec}
	if a.Rules.MostMoves < 1 || a.Rules.MostMoves > 3 || len(in.Tasks) == 0 || len(in.Tasks) > MaxTasks || in.RateHz < 8000 || in.RateHz > 192000 {
		return nil, ErrBroken
	}
	for _, moves := range in.Tasks {
		if len(moves) > 10 {
			return nil, ErrBroken
		}
		var task []biquad.Filter
		for _, m := range moves {
			f, err := m.filter(in.RateHz)
			if err != nil {
				return nil, err
			}
			task = append(task, f)
		}
		a.Tasks = append(a.Tasks, task)
	}
	return a, nil
}

// filter checks and returns a move, or ErrBroken if no exercise can have it.
func (m taskJSON) filter(rateHz int) (biquad.Filter, error) {
	shape, known := biquad.ParseShape(m.Shape)
	f := biquad.Filter{Shape: shape, FreqHz: m.FreqHz, GainDB: m.GainDB, Q: m.Q}
	if !known || shape.IsCut() || f.Check(float64(rateHz)) != nil || math.Abs(m.GainDB) > 40 {
		return f, ErrBroken
	}
	return f, nil
}

// plain returns the text that was sealed or locked.
func (d *sealJSON) plain(password string) ([]byte, error) {
	if d.Locked != nil {
		if password == "" {
			return nil, ErrLocked
		}
		aead, err := keyed(password, d.Salt)
		if err != nil {
			return nil, err
		}
		plain, err := aead.Open(nil, make([]byte, aead.NonceSize()), d.Locked, nil)
		if err != nil {
			return nil, ErrPassword
		}
		return plain, nil
	}
	plain, err := unpack(d.Sealed)
	if err != nil || checkOf(plain) != d.Check {
		return nil, ErrBroken
	}
	return plain, nil
}
