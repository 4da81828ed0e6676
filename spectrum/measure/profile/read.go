package profile

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"unicode/utf8"

	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// Is reports whether a file that begins with start is JSON, so that [Read] should be tried.
func Is(start []byte) bool {
	text, _ := io.ReadAll(measure.Text(bytes.NewReader(start)))
	return bytes.HasPrefix(bytes.TrimLeft(text, " \t\r\n"), []byte("{"))
}

// Read reads a profile that [Profile.Write] wrote. path is used in errors only. The error is
// an [*audio.Error], for other versions, other documents and damage.
func Read(in io.Reader, path string) (Profile, error) {
	file, err := readFile(in, path)
	if err != nil {
		return nil, err
	}
	var p Profile
	err = eachEntry(file, path, func(d *jsonEntry, packed []byte) error {
		r := d.about()
		unpackRows(r, packed)
		p = append(p, Entry{SHA256: d.SHA256, Recording: r})
		return nil
	})
	if err != nil {
		return nil, err
	}
	return p, nil
}

// What to do about a file that is no profile, or a damaged one.
const (
	again   = "make it again from the recordings"
	instead = "give a recording, or a profile of some"
)

// refuse is the error of a file.
func refuse(path string, kind finding.ErrorKind, hint, problem string, args ...any) error {
	return &audio.Error{Kind: kind, Path: path, Problem: fmt.Sprintf(problem, args...), Hint: hint}
}

// readFile returns a file's bytes.
func readFile(in io.Reader, path string) ([]byte, error) {
	file, err := io.ReadAll(io.LimitReader(in, maxBytes+1))
	switch {
	case err != nil:
		return nil, refuse(path, finding.System, "try again, or copy the file to another disk", "cannot be read to its end")
	case len(file) > maxBytes:
		return nil, refuse(path, finding.TooLarge, "make several profiles of less", "is larger than any profile")
	}
	return file, nil
}

// eachEntry calls see with each recording of a profile and its unpacked rows, once all of
// it is known to be sound up to there.
func eachEntry(file []byte, path string, see func(d *jsonEntry, packed []byte) error) error {
	if len(file) > 0 && file[0] >= utf8.RuneSelf { // a byte order mark
		text, err := io.ReadAll(measure.Text(bytes.NewReader(file)))
		if err != nil {
			return refuse(path, finding.ProfileWrong, again, "cannot be read to its end")
		}
		file = text
	}
	document, err := decodeProfile(file, path)
	if err != nil {
		return err
	}
	rows, seen := 0, map[string]bool{} // older profiles are in the order of SHA256
	for i, raw := range document.Recordings {
		d, packed, err := readEntry(raw, maxRows-rows)
		if err != nil {
			return refuse(path, finding.ProfileWrong, again, "is a profile whose recording %d cannot be used: %s", i+1, err)
		}
		if rows += len(packed) / bytesPerRow; seen[d.SHA256] {
			return refuse(path, finding.ProfileWrong, again, "is a profile whose recording %d is there twice", i+1)
		}
		seen[d.SHA256] = true
		if err := see(d, packed); err != nil {
			return err
		}
	}
	return nil
}

// decodeProfile takes a document apart.
func decodeProfile(raw []byte, path string) (document jsonProfile, err error) {
	decoder := json.NewDecoder(bytes.NewReader(raw))
	decoder.DisallowUnknownFields()
	err = decoder.Decode(&document)
	if _, more := decoder.Token(); err != nil || more != io.EOF || document.Version != version || document.Kind != documentKind {
		if err := notProfile(raw, path); err != nil {
			return document, err
		}
		return document, refuse(path, finding.ProfileWrong, again, "is a profile that holds something that does not belong there")
	}
	if len(document.Recordings) == 0 {
		return document, refuse(path, finding.ProfileWrong, again, "is a profile without a recording")
	}
	return document, nil
}

// notProfile says what a document is that is no profile of this version, nil if it is one.
func notProfile(raw []byte, path string) error {
	var sniffed struct {
		Version json.RawMessage `json:"version"`
		Kind    json.RawMessage `json:"kind"`
		Moves   json.RawMessage `json:"moves"`
		Shapes  json.RawMessage `json:"shapes"`
	}
	if err := json.Unmarshal(raw, &sniffed); err != nil {
		var syntax *json.SyntaxError
		if errors.As(err, &syntax) {
			line := 1 + bytes.Count(raw[:min(int(syntax.Offset), len(raw))], []byte("\n"))
			return refuse(path, finding.ProfileWrong, again, "looks like a profile, but is not JSON: line %d cannot be read", line)
		}
		return refuse(path, finding.NotARecording, instead, "is JSON, but not a profile of recordings")
	}
	switch {
	case sniffed.Moves != nil:
		return refuse(path, finding.NotARecording, instead, "is a settings document, not a recording or profile")
	case sniffed.Shapes != nil:
		return refuse(path, finding.NotARecording, instead, "describes an equaliser, and is not a recording or profile")
	case string(sniffed.Kind) != strconv.Quote(documentKind):
		return refuse(path, finding.NotARecording, instead, "is JSON, but not a profile of recordings")
	case sniffed.Version == nil:
		return refuse(path, finding.ProfileWrong, again, "is a profile without a version")
	case string(sniffed.Version) != strconv.Itoa(version):
		return refuse(path, finding.OtherVersion, "it may come from a newer toneplumb; make it again, or use that one",
			"is a profile of version %s; only version %d is known", plainText(string(sniffed.Version)), version)
	}
	return nil
}

// readEntry reads one recording of at most room rows, and its rows uncompressed.
func readEntry(raw []byte, room int) (d *jsonEntry, packed []byte, err error) {
	in := json.NewDecoder(bytes.NewReader(raw))
	in.DisallowUnknownFields()
	d = new(jsonEntry)
	if err := in.Decode(d); err != nil {
		return nil, nil, errors.New("it holds something that does not belong there")
	}
	if err := d.inRange(); err != nil {
		return nil, nil, err
	}
	rows := int(math.Ceil(d.DurationSec / float64(d.StepSec)))
	if rows > room {
		return nil, nil, fmt.Errorf("more than %d rows are not taken", maxRows)
	}
	if packed, err = expand(d.Rows, rows); err != nil {
		return nil, nil, err
	}
	if check, err := d.sum(packed); err != nil || check != d.Check {
		return nil, nil, errors.New("it was changed after it was made")
	}
	if silent(packed) {
		return nil, nil, errors.New("it is silent")
	}
	return d, packed, nil
}

// about is the recording without its table.
func (d *jsonEntry) about() *measure.Recording {
	r := &measure.Recording{
		Path: d.File, Name: measure.Printable(d.File), Format: d.Format,
		DurationSec: d.DurationSec, RowSec: d.StepSec, LoudnessLUFS: d.LoudnessLUFS,
	}
	r.Format.Frames = -1
	for _, text := range d.Warnings {
		r.Warnings = append(r.Warnings, codec.Remark{Kind: codec.Quoted, Text: text})
	}
	r.Warnings = append(r.Warnings, d.Remarks...)
	if d.CutoffHz != nil {
		r.CutoffHz = *d.CutoffHz
	}
	if d.Programme != nil {
		r.Programme = *d.Programme
	}
	return r
}

// Recordings returns the recordings in the order of the profile.
func (p Profile) Recordings() []*measure.Recording {
	var all []*measure.Recording
	for _, e := range p {
		all = append(all, e.Recording)
	}
	return all
}

// silent reports whether no row that counts has any level.
func silent(packed []byte) bool {
	for ; len(packed) > 0; packed = packed[bytesPerRow:] {
		if packed[bytesPerRow-1] == 0 {
			continue
		}
		for _, b := range packed[:2*spectrum.BandCount] {
			if b != 0 {
				return false
			}
		}
	}
	return true
}
