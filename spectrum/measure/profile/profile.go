// Package profile stores the tables of recordings as one JSON document, so that they can be
// compared without their sound.
//
// [Read] reads what [Profile.Write] writes, up to rounding. [Merge] joins profiles; the
// result does not depend on order and grouping.
//
// It builds on spectrum/measure.
package profile

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure"
)

// Profile is a set of recordings without their sound, as they stand in the document: written now, in the order of
// their names (case does not count, and 2 is before 10), equal names by SHA256; earlier versions wrote other orders.
//
// It is stored as one JSON document: {"version": 1, "kind": "recordings without sound",
// "recordings": [...]}. Each recording has the figures of jsonEntry and its table, "rows":
// for every step_s seconds 240 levels (16 bits, little-endian), 240 widths and the share
// that passes the gate (8 bits each), see packRows, compressed by compress. "check" shows
// whether any of it was changed.
type Profile []Entry

// Entry is one recording of a profile.
type Entry struct {
	SHA256    string // of the file that was measured, in hexadecimal digits
	Recording *measure.Recording
}

const (
	version      = 1
	documentKind = "recordings without sound"
	// The size is bounded, so that no document can fill the memory. Our choice: a day for a
	// recording; 290 hours in steps of 8 s for a profile, which take 250 MB.
	maxSec       = 24 * 3600
	maxRows      = 1 << 17
	maxBytes     = 1 << 30
	maxNameBytes = 1024 // of a file's name and other texts

	// Loudness in LUFS: above the gate; floating point may be far above full scale.
	minLoudnessLUFS, maxLoudnessLUFS = -70, 120
)

type jsonProfile struct {
	Version    int               `json:"version"`
	Kind       string            `json:"kind"`
	Recordings []json.RawMessage `json:"recordings"`
}

// jsonEntry is a recording in a profile.
type jsonEntry struct {
	File   string `json:"file"` // the name alone
	SHA256 string `json:"sha256"`
	audio.Format
	DurationSec  float64            `json:"duration_s"`
	LoudnessLUFS float64            `json:"loudness_lufs"`
	CutoffHz     *float64           `json:"cutoff_hz"`
	Programme    *measure.Programme `json:"whole,omitempty"` // nil if unknown
	Warnings     []string           `json:"warnings"`        // without code
	Remarks      []codec.Remark     `json:"remarks,omitempty"`
	StepSec      int                `json:"step_s"`
	Rows         string             `json:"rows"`
	Check        string             `json:"check"` // SHA-256 of the entry with Rows and Check empty, then the uncompressed rows
}

// fits returns an error for more rows of measure.BlockSec than a profile may have.
func fits(rows int) error {
	if rows > maxRows {
		return fmt.Errorf("the profile would hold %d hours; %d at most are taken", rows*measure.BlockSec/3600, maxRows*measure.BlockSec/3600)
	}
	return nil
}

// Distinct returns the recordings of profiles in their order, without repetitions: of
// entries with the same SHA256, or with equal Power, it returns the first.
func Distinct(profiles ...Profile) []*measure.Recording {
	var all []*measure.Recording
	seen := map[string]bool{}
	for _, p := range profiles {
		for _, e := range p {
			twice := slices.ContainsFunc(all, func(r *measure.Recording) bool { return slices.Equal(r.Power, e.Recording.Power) })
			if e.SHA256 != "" && seen[e.SHA256] || twice {
				continue
			}
			seen[e.SHA256] = true
			all = append(all, e.Recording)
		}
	}
	return all
}

// Write writes the profile as JSON in the order of names, in rows of stepSec seconds: 1, 2,
// 4 or 8. Comparing needs no finer rows than measure.BlockSec. It panics unless stepSec is a
// multiple of each recording's RowSec. It returns an error if an entry cannot be in a
// profile, or that of w.
func (p Profile) Write(w io.Writer, stepSec int) error {
	u := Union{stepSec: stepSec}
	if err := u.Add(p); err != nil {
		return err
	}
	return u.Write(w)
}

// document returns an entry as it is written, without Rows, and the rows uncompressed.
func (e Entry) document(stepSec int) (d *jsonEntry, packed []byte, err error) {
	r := e.Recording
	if stepSec%r.RowSec != 0 {
		panic("profile: a profile's step is no multiple of a recording's rows")
	}
	d = &jsonEntry{
		File: plainText(r.Name), SHA256: e.SHA256, Format: r.Format,
		DurationSec: round(r.DurationSec, 1e-3), LoudnessLUFS: round(r.LoudnessLUFS, 1e-3),
		Warnings: []string{}, StepSec: stepSec,
	}
	d.Container, d.Encoding = plainText(d.Container), plainText(d.Encoding)
	for _, remark := range r.Warnings {
		if remark.Text = plainText(remark.Text); remark.Kind == codec.Quoted {
			d.Warnings = append(d.Warnings, remark.Text)
		} else {
			d.Remarks = append(d.Remarks, remark)
		}
	}
	if r.CutoffHz > 0 {
		hz := round(r.CutoffHz, 1)
		d.CutoffHz = &hz
	}
	if w := r.Programme; w.Valid() {
		for _, x := range []*float64{&w.WholeLUFS, &w.RangeLU, &w.MomentaryMaxLUFS, &w.ShortTermMaxLUFS, &w.TruePeakDBTP} {
			*x = round(*x, 1e-3)
		}
		d.Programme = &w
	}
	if err := d.inRange(); err != nil {
		return nil, nil, fmt.Errorf("%s cannot stand in a profile: %w", d.File, err)
	}
	packed = packRows(r, stepSec)
	d.Check, err = d.sum(packed)
	return d, packed, err
}

// plainText replaces control characters and invalid UTF-8 by U+FFFD, so that a text neither
// controls a terminal nor changes in JSON, and cuts it off after maxNameBytes.
func plainText(s string) string {
	s = strings.Map(func(c rune) rune {
		if unicode.IsControl(c) || c == '\u2028' || c == '\u2029' {
			return utf8.RuneError
		}
		return c
	}, strings.ToValidUTF8(s, "\ufffd"))
	for len(s) > maxNameBytes {
		_, n := utf8.DecodeLastRuneInString(s)
		s = s[:len(s)-n]
	}
	return s
}

// inRange returns an error that names an impossible figure or text of an entry. It does not
// check the rows.
func (d *jsonEntry) inRange() error {
	if sum, err := hex.DecodeString(d.SHA256); err != nil || len(sum) != sha256.Size || strings.ToLower(d.SHA256) != d.SHA256 {
		return errors.New("its sha256 is none")
	}
	switch d.StepSec {
	case 1, 2, 4, 8:
	default:
		return fmt.Errorf("its step_s is %d, not 1, 2, 4 or 8", d.StepSec)
	}
	type figure struct {
		name           string
		x, least, most float64
	}
	figures := []figure{
		{"rate_hz", float64(d.RateHz), measure.MinRateHz, measure.MaxRateHz},
		{"channels", float64(d.Channels), 1, 255},
		{"bits", float64(d.Bits), 0, 64},
		{"duration_s", d.DurationSec, measure.MinSec, maxSec},
		{"loudness_lufs", d.LoudnessLUFS, minLoudnessLUFS, maxLoudnessLUFS},
	}
	if w := d.Programme; w != nil {
		const least, most = loudness.FloorDBTP, maxLoudnessLUFS
		figures = append(figures, []figure{
			{"whole.loudness_lufs", w.WholeLUFS, least, most}, {"whole.loudness_range_lu", w.RangeLU, 0, most - least},
			{"whole.momentary_max_lufs", w.MomentaryMaxLUFS, least, most}, {"whole.short_term_max_lufs", w.ShortTermMaxLUFS, least, most},
			{"whole.true_peak_dbtp", w.TruePeakDBTP, least, most}, {"whole.clipped_places", float64(w.ClippedPlaces), 0, 10*maxSec + 1},
		}...)
	}
	for _, f := range figures {
		if !(f.x >= f.least && f.x <= f.most) {
			return fmt.Errorf("its %s is %g, not between %g and %g", f.name, f.x, f.least, f.most)
		}
	}
	if d.CutoffHz != nil && !(*d.CutoffHz > 0 && *d.CutoffHz < measure.MaxRateHz/2) {
		return fmt.Errorf("its cutoff_hz is %g, not between 0 and %d", *d.CutoffHz, measure.MaxRateHz/2)
	}
	texts := append([]string{d.File, d.Container, d.Encoding}, d.Warnings...)
	for _, remark := range d.Remarks {
		if !slices.Contains(codec.Kinds, remark.Kind) {
			return fmt.Errorf("its remark %q is not known", remark.Kind)
		}
		texts = append(texts, remark.Text)
	}
	for _, text := range texts {
		if plainText(text) != text {
			return errors.New("its words hold control characters, or are too long")
		}
	}
	if filepath.Base(d.File) != d.File {
		return errors.New("its file is not a name alone")
	}
	return nil
}

// round returns x rounded to a multiple of step.
func round(x, step float64) float64 { return math.Round(x/step) / math.Round(1/step) }

// sum returns the check of an entry. It covers the uncompressed rows, since another version
// of the library may compress differently.
func (d jsonEntry) sum(packed []byte) (string, error) {
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
