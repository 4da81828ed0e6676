package profile

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"

	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
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
	refuse := func(hint, problem string, args ...any) (Profile, error) {
		return nil, &audio.Error{Path: path, Problem: fmt.Sprintf(problem, args...), Hint: hint}
	}
	const again = "make it again from the recordings with: toneplumb profile REFERENCE... -o FILE.json"
	const instead = "give a recording, or a profile made with: toneplumb profile REFERENCE... -o FILE.json"
	raw, err := io.ReadAll(io.LimitReader(measure.Text(in), maxBytes+1))
	switch {
	case err != nil:
		return refuse("try again, or copy the file to another disk", "cannot be read to its end")
	case len(raw) > maxBytes:
		return refuse("make several profiles of less", "is larger than any profile")
	}
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
			return refuse(again, "looks like a profile, but is no JSON: line %d is damaged", line)
		}
		return refuse(instead, "is JSON, but not a profile of recordings")
	}
	switch {
	case sniffed.Moves != nil:
		return refuse(instead, "is a settings document, not a recording or profile")
	case sniffed.Shapes != nil:
		return refuse(instead, "describes an equaliser, and is not a recording or profile")
	case string(sniffed.Kind) != strconv.Quote(documentKind):
		return refuse(instead, "is JSON, but not a profile of recordings")
	case sniffed.Version == nil:
		return refuse(again, "is a profile without a version")
	case string(sniffed.Version) != strconv.Itoa(version):
		return refuse("it may come from a newer toneplumb; make it again, or use that one",
			"is a profile of version %s; only version %d is known", plainText(string(sniffed.Version)), version)
	}
	var document jsonProfile
	decoder := json.NewDecoder(bytes.NewReader(raw))
	decoder.DisallowUnknownFields()
	if err := decoder.Decode(&document); err != nil {
		return refuse(again, "is a profile that holds something that does not belong there")
	}
	if len(document.Recordings) == 0 {
		return refuse(again, "is a profile without a recording")
	}
	var p Profile
	rows := 0
	for i, raw := range document.Recordings {
		e, err := readEntry(raw, maxRows-rows)
		if err != nil {
			return refuse(again, "is a profile whose recording %d cannot be used: %s", i+1, err)
		}
		if rows += e.Recording.Rows; i > 0 && e.SHA256 <= p[i-1].SHA256 {
			return refuse(again, "is a profile whose recording %d is out of order", i+1)
		}
		p = append(p, e)
	}
	return p, nil
}

// readEntry reads one recording of at most room rows.
func readEntry(raw []byte, room int) (Entry, error) {
	var d jsonEntry
	in := json.NewDecoder(bytes.NewReader(raw))
	in.DisallowUnknownFields()
	if err := in.Decode(&d); err != nil {
		return Entry{}, errors.New("it holds something that does not belong there")
	}
	if err := d.inRange(); err != nil {
		return Entry{}, err
	}
	rows := int(math.Ceil(d.DurationSec / float64(d.StepSec)))
	if rows > room {
		return Entry{}, fmt.Errorf("more than %d rows are not taken", maxRows)
	}
	packed, err := expand(d.Rows, rows)
	if err != nil {
		return Entry{}, err
	}
	if check, err := d.sum(packed); err != nil || check != d.Check {
		return Entry{}, errors.New("it was changed after it was made")
	}
	r := &measure.Recording{
		Path: d.File, Name: measure.Printable(d.File), DurationSec: d.DurationSec, RowSec: d.StepSec, LoudnessLUFS: d.LoudnessLUFS, Warnings: d.Warnings,
		Format: audio.Format{Container: d.Container, Encoding: d.Encoding, Lossy: d.Lossy, RateHz: d.RateHz, Channels: d.Channels, Bits: d.Bits, Frames: -1},
	}
	if d.CutoffHz != nil {
		r.CutoffHz = *d.CutoffHz
	}
	r.Programme = d.Programme.programme()
	unpackRows(r, packed)
	if silent(r) {
		return Entry{}, errors.New("it is silent")
	}
	return Entry{SHA256: d.SHA256, Recording: r}, nil
}

// Recordings returns the recordings in the order of the profile.
func (p Profile) Recordings() []*measure.Recording {
	var all []*measure.Recording
	for _, e := range p {
		all = append(all, e.Recording)
	}
	return all
}

// silent reports whether no row has any power.
func silent(r *measure.Recording) bool {
	for _, p := range r.MeanPower(r.GateWeights())[:spectrum.BandCount] {
		if p > 0 {
			return false
		}
	}
	return true
}
