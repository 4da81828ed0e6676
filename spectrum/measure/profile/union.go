package profile

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"regexp"
	"slices"
	"strings"
	"sync"

	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// Union joins recordings and profiles, independent of order and grouping: of two entries for
// one file the one with the smaller check is kept. It is made for libraries of thousands: of
// profiles in files it holds no table, and copies the entries as they are packed. The zero
// value is empty. Files may be added side by side.
type Union struct {
	stepSec int // of the rows that are written; 0: measure.BlockSec
	adding  sync.Mutex
	all     []member
}

// step is that of the rows that are written.
func (u *Union) step() int { return cmp.Or(u.stepSec, measure.BlockSec) }

// member is an entry of a union.
type member struct {
	sum, check string
	place      string             // members are sorted by it, see placeOf
	rows       int                // in steps of measure.BlockSec
	about      *measure.Recording // without its table where it comes from a file
	hash       [sha256.Size]byte  // of its text
	text       []byte             // as it is written; nil: it is in a file
	path       string
	at, size   int64 // in that file
}

// memberOf returns an entry whose rows are packed and compressed.
func memberOf(d *jsonEntry, about *measure.Recording) (member, error) {
	rows := d.Rows
	d.Rows = ""                                   // long, and nothing in it to be escaped or indented
	text, err := json.MarshalIndent(d, "  ", " ") // as it stands in a document
	d.Rows = rows
	if err != nil {
		return member{}, err
	}
	text = bytes.Replace(text, []byte("\n   \"rows\": \"\""), []byte("\n   \"rows\": \""+rows+"\""), 1)
	m := member{sum: d.SHA256, check: d.Check, place: placeOf(d.File), about: about, text: text}
	m.hash = sha256.Sum256(m.text)
	return m, nil
}

func (u *Union) add(some ...member) {
	u.adding.Lock()
	defer u.adding.Unlock()
	u.all = append(u.all, some...)
}

// Add adds recordings. A figure that cannot stand in a profile is an error.
func (u *Union) Add(p Profile) error {
	for _, e := range p {
		d, packed, err := e.document(u.step())
		if err != nil {
			return err
		}
		d.Rows = compress(packed)
		m, err := memberOf(d, e.Recording)
		if err != nil {
			return err
		}
		m.rows = len(packed) / bytesPerRow * u.step() / measure.BlockSec
		u.add(m)
	}
	return nil
}

// AddFile adds what a profile holds; path is that of an ordinary file, which
// [Union.Write] reads again. Errors are those of [Read].
func (u *Union) AddFile(in io.Reader, path string) error {
	file, err := readFile(in, path)
	if err != nil {
		return err
	}
	var some []member
	end := 0 // of the entry before
	err = eachEntry(file, path, func(d *jsonEntry, packed []byte) error {
		about := d.about()
		if d.StepSec != u.step() {
			unpackRows(about, packed)
			return u.Add(Profile{{d.SHA256, about}})
		}
		m, err := memberOf(d, about)
		if err != nil {
			return err
		}
		m.rows = len(packed) / bytesPerRow * u.step() / measure.BlockSec
		// A document of ours has these bytes; of others they are kept.
		if at := bytes.Index(file[end:], m.text); at >= 0 {
			m.path, m.at, m.size, m.text = path, int64(end+at), int64(len(m.text)), nil
			end += at + int(m.size)
		}
		some = append(some, m)
		return nil
	})
	if err != nil {
		return err
	}
	u.add(some...)
	return nil
}

// settle drops what is there twice and sorts the members by [placeOf] their names. The bytes
// do not depend on the order in which they came: equal names are sorted by sum.
func (u *Union) settle() error {
	slices.SortFunc(u.all, func(a, b member) int {
		return cmp.Or(cmp.Compare(a.sum, b.sum), cmp.Compare(a.check, b.check), bytes.Compare(a.hash[:], b.hash[:]))
	})
	u.all = slices.CompactFunc(u.all, func(a, b member) bool { return a.sum == b.sum })
	slices.SortFunc(u.all, func(a, b member) int { return cmp.Or(cmp.Compare(a.place, b.place), cmp.Compare(a.sum, b.sum)) })
	rows := 0
	for _, m := range u.all {
		rows += m.rows
	}
	return fits(rows)
}

var digits = regexp.MustCompile("[0-9]+")

// placeOf returns a text that sorts a name as people look for it: without case, and 2 before 10 (numbers of up to 20
// digits). Names that differ only in that are sorted as they are; no name holds a NUL.
func placeOf(name string) string {
	return digits.ReplaceAllStringFunc(strings.ToLower(name), func(number string) string {
		return strings.Repeat("0", max(0, 20-len(number))) + number
	}) + "\x00" + name
}

// Entries returns the recordings of the union in their order, with their figures; those from
// files have no table.
func (u *Union) Entries() (Profile, error) {
	if err := u.settle(); err != nil {
		return nil, err
	}
	var p Profile
	for _, m := range u.all {
		p = append(p, Entry{m.sum, m.about})
	}
	return p, nil
}

// Write writes the profile in rows of measure.BlockSec, see [Profile.Write]. It fails where a
// file has changed since it was added.
func (u *Union) Write(w io.Writer) error {
	if err := u.settle(); err != nil {
		return err
	}
	if _, err := fmt.Fprintf(w, "{\n \"version\": %d,\n \"kind\": %q,\n \"recordings\": [", version, documentKind); err != nil {
		return err
	}
	for i := range u.all {
		text, err := u.all[i].read()
		if err != nil {
			return err
		}
		between := ",\n  "
		if i == 0 {
			between = "\n  "
		}
		if _, err := w.Write(append([]byte(between), text...)); err != nil {
			return err
		}
	}
	end := "\n ]\n}\n"
	if len(u.all) == 0 {
		end = "]\n}\n"
	}
	_, err := io.WriteString(w, end)
	return err
}

// read returns a member's text.
func (m *member) read() ([]byte, error) {
	if m.text != nil {
		return m.text, nil
	}
	text := make([]byte, m.size)
	file, err := os.Open(m.path)
	if err == nil {
		defer file.Close()
		_, err = file.ReadAt(text, m.at)
	}
	if err != nil || sha256.Sum256(text) != m.hash {
		return nil, &audio.Error{Kind: finding.ChangedMeanwhile, Path: m.path, Problem: "was changed while it was read", Hint: "run it again", Err: err}
	}
	return text, nil
}
