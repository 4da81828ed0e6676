package measure

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"

	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
)

// Profile is a set of recordings without their sound, in the order of their sums. The
// document is described in DEVELOPERS.md.
type Profile []Entry

// Entry is one recording of a profile.
type Entry struct {
	SHA256    string // of the file that was measured, in hexadecimal digits
	Recording *Recording
}

const (
	profileVersion = 1
	profileKind    = "recordings without sound"
	// maxProfileSec bounds what is unpacked of one recording. Our choice: a day.
	maxProfileSec = 24 * 3600
)

type profileDocument struct {
	Version    int               `json:"version"`
	Kind       string            `json:"kind"`
	Recordings []json.RawMessage `json:"recordings"`
}

// profileEntry is a recording in a profile.
type profileEntry struct {
	File         string   `json:"file"` // the name alone
	SHA256       string   `json:"sha256"`
	Container    string   `json:"container"`
	Encoding     string   `json:"encoding"`
	Lossy        bool     `json:"lossy"`
	RateHz       int      `json:"rate_hz"`
	Channels     int      `json:"channels"`
	Bits         int      `json:"bits"` // of integer samples, 0 otherwise
	DurationSec  float64  `json:"duration_s"`
	LoudnessLUFS float64  `json:"loudness_lufs"`
	CutoffHz     *float64 `json:"cutoff_hz"`
	Warnings     []string `json:"warnings"`
	StepSec      int      `json:"step_s"`
	Rows         string   `json:"rows"`
	Check        string   `json:"check"` // SHA-256 of all above, Check empty, and of the rows unpacked
}

// Merge returns the union of profiles by SHA256, independent of order and grouping:
// of two entries for one file the one with the smaller check is kept.
func Merge(profiles ...Profile) (Profile, error) {
	type checked struct {
		Entry
		check string
	}
	var all []checked
	for _, p := range profiles {
		for _, e := range p {
			document, err := e.document(BlockSec)
			if err != nil {
				return nil, err
			}
			all = append(all, checked{e, document.Check})
		}
	}
	slices.SortFunc(all, func(a, b checked) int {
		return cmp.Or(cmp.Compare(a.SHA256, b.SHA256), cmp.Compare(a.check, b.check))
	})
	var merged Profile
	for i, e := range all {
		if i == 0 || e.SHA256 != all[i-1].SHA256 {
			merged = append(merged, e.Entry)
		}
	}
	return merged, nil
}

// Write writes the profile as JSON, in rows of stepSec: BlockSec is all that
// comparing needs.
func (p Profile) Write(w io.Writer, stepSec int) error {
	document := profileDocument{Version: profileVersion, Kind: profileKind, Recordings: []json.RawMessage{}}
	for _, e := range p {
		entry, err := e.document(stepSec)
		if err != nil {
			return err
		}
		raw, err := json.Marshal(entry)
		if err != nil {
			return err
		}
		document.Recordings = append(document.Recordings, raw)
	}
	out := json.NewEncoder(w)
	out.SetIndent("", " ")
	return out.Encode(document)
}

func (e Entry) document(stepSec int) (*profileEntry, error) {
	r := e.Recording
	d := &profileEntry{
		File: filepath.Base(r.Path), SHA256: e.SHA256,
		Container: r.Format.Container, Encoding: r.Format.Encoding, Lossy: r.Format.Lossy,
		RateHz: r.Format.RateHz, Channels: r.Format.Channels, Bits: r.Format.Bits,
		DurationSec: round(r.DurationSec, 1e-3), LoudnessLUFS: round(r.LoudnessLUFS, 1e-3),
		Warnings: append([]string{}, r.Warnings...), StepSec: stepSec,
	}
	if r.CutoffHz > 0 {
		hz := round(r.CutoffHz, 1)
		d.CutoffHz = &hz
	}
	packed := packRows(r, stepSec)
	d.Rows = compress(packed)
	var err error
	d.Check, err = d.sum(packed)
	return d, err
}

// round returns x in whole steps.
func round(x, step float64) float64 { return math.Round(x/step) * step }

// sum returns the check of an entry: over the rows as they are, since another version
// of the library may compress otherwise.
func (d profileEntry) sum(packed []byte) (string, error) {
	d.Rows, d.Check = "", ""
	words, err := json.Marshal(d)
	if err != nil {
		return "", err
	}
	hash := sha256.New()
	hash.Write(words)
	hash.Write(packed)
	return hex.EncodeToString(hash.Sum(nil)), nil
}

// IsProfile tells from a file's first bytes whether to try ReadProfile: it is JSON.
func IsProfile(start []byte) bool {
	start = bytes.TrimPrefix(start, []byte("\xef\xbb\xbf"))
	return bytes.HasPrefix(bytes.TrimLeft(start, " \t\r\n"), []byte("{"))
}

// ReadProfile reads what Write wrote; path is only for errors, which are
// *audio.Error. It refuses other versions, other documents and damage.
func ReadProfile(in io.Reader, path string) (Profile, error) {
	refuse := func(hint, problem string, args ...any) (Profile, error) {
		return nil, &audio.Error{Path: path, Problem: fmt.Sprintf(problem, args...), Hint: hint}
	}
	const again = "make it again from the recordings with: toneplumb profile REFERENCE... -o FILE.json"
	var document profileDocument
	if err := json.NewDecoder(in).Decode(&document); err != nil {
		return refuse(again, "is JSON that cannot be read as a profile")
	}
	switch {
	case document.Kind != profileKind:
		return refuse("give a recording, or a profile made with: toneplumb profile REFERENCE... -o FILE.json",
			"is JSON, but not a profile of recordings")
	case document.Version != profileVersion:
		return refuse("it may come from a newer toneplumb; make it again, or use that one",
			"is a profile of version %d; only version %d is known", document.Version, profileVersion)
	case len(document.Recordings) == 0:
		return refuse(again, "is a profile without a recording")
	}
	var p Profile
	for i, raw := range document.Recordings {
		e, err := readEntry(raw)
		if err != nil {
			return refuse(again, "is a profile whose recording %d cannot be used: %s", i+1, err)
		}
		p = append(p, e)
	}
	return p, nil
}

func readEntry(raw []byte) (Entry, error) {
	var d profileEntry
	in := json.NewDecoder(bytes.NewReader(raw))
	in.DisallowUnknownFields()
	if err := in.Decode(&d); err != nil {
		return Entry{}, fmt.Errorf("it holds something that does not belong there")
	}
	if sum, err := hex.DecodeString(d.SHA256); err != nil || len(sum) != sha256.Size {
		return Entry{}, fmt.Errorf("its sha256 is none")
	}
	switch d.StepSec {
	case 1, 2, 4, 8:
	default:
		return Entry{}, fmt.Errorf("its step_s is %d, not 1, 2, 4 or 8", d.StepSec)
	}
	sound := d.RateHz >= minRateHz && d.RateHz <= maxRateHz && d.Channels >= 1 && d.Channels <= 255 &&
		d.Bits >= 0 && d.Bits <= 64 && d.DurationSec >= MinSec && d.DurationSec <= maxProfileSec &&
		d.LoudnessLUFS >= -70 && d.LoudnessLUFS <= 20
	if d.CutoffHz != nil {
		sound = sound && *d.CutoffHz > 0 && *d.CutoffHz < maxRateHz/2
	}
	if !sound {
		return Entry{}, fmt.Errorf("a figure is out of range")
	}
	rows := int(math.Ceil(d.DurationSec / float64(d.StepSec)))
	packed, err := expand(d.Rows, rows)
	if err != nil && rows > 1 { // a last row may be too short for a window
		rows--
		packed, err = expand(d.Rows, rows)
	}
	if err != nil {
		return Entry{}, err
	}
	if check, err := d.sum(packed); err != nil || check != d.Check {
		return Entry{}, fmt.Errorf("it was changed after it was made")
	}
	r := &Recording{
		Path: d.File, DurationSec: d.DurationSec, RowSec: d.StepSec, LoudnessLUFS: d.LoudnessLUFS, Warnings: d.Warnings,
		Format: audio.Format{Container: d.Container, Encoding: d.Encoding, Lossy: d.Lossy, RateHz: d.RateHz, Channels: d.Channels, Bits: d.Bits, Frames: -1},
	}
	if d.CutoffHz != nil {
		r.CutoffHz = *d.CutoffHz
	}
	r.unpackRows(packed)
	if r.silentRows() {
		return Entry{}, fmt.Errorf("it is silent")
	}
	return Entry{SHA256: d.SHA256, Recording: r}, nil
}

// Recordings returns the recordings in order.
func (p Profile) Recordings() []*Recording {
	var all []*Recording
	for _, e := range p {
		all = append(all, e.Recording)
	}
	return all
}

// silentRows tells whether no row has any power.
func (r *Recording) silentRows() bool {
	for _, p := range r.MeanPower(r.GateWeights())[:spectrum.BandCount] {
		if p > 0 {
			return false
		}
	}
	return true
}
