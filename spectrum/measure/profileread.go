package measure

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
)

// IsProfile tells from a file's first bytes whether to try ReadProfile: it is JSON.
func IsProfile(start []byte) bool {
	text, _ := io.ReadAll(Text(bytes.NewReader(start)))
	return bytes.HasPrefix(bytes.TrimLeft(text, " \t\r\n"), []byte("{"))
}

// ReadProfile reads what Write wrote; path is only for errors, which are
// *audio.Error. It refuses other versions, other documents and damage.
func ReadProfile(in io.Reader, path string) (Profile, error) {
	refuse := func(hint, problem string, args ...any) (Profile, error) {
		return nil, &audio.Error{Path: path, Problem: fmt.Sprintf(problem, args...), Hint: hint}
	}
	const again = "make it again from the recordings with: toneplumb profile REFERENCE... -o FILE.json"
	const instead = "give a recording, or a profile made with: toneplumb profile REFERENCE... -o FILE.json"
	raw, err := io.ReadAll(io.LimitReader(Text(in), maxProfileBytes+1))
	switch {
	case err != nil:
		return refuse("try again, or copy the file to another disk", "cannot be read to its end")
	case len(raw) > maxProfileBytes:
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
	case string(sniffed.Kind) != strconv.Quote(profileKind):
		return refuse(instead, "is JSON, but not a profile of recordings")
	case sniffed.Version == nil:
		return refuse(again, "is a profile without a version")
	case string(sniffed.Version) != strconv.Itoa(profileVersion):
		return refuse("it may come from a newer toneplumb; make it again, or use that one",
			"is a profile of version %s; only version %d is known", plainText(string(sniffed.Version)), profileVersion)
	}
	var document profileDocument
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
		e, err := readEntry(raw, maxProfileRows-rows)
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

// readEntry reads one recording of at most so many rows.
func readEntry(raw []byte, maxRows int) (Entry, error) {
	var d profileEntry
	in := json.NewDecoder(bytes.NewReader(raw))
	in.DisallowUnknownFields()
	if err := in.Decode(&d); err != nil {
		return Entry{}, errors.New("it holds something that does not belong there")
	}
	if err := d.inRange(); err != nil {
		return Entry{}, err
	}
	rows := int(math.Ceil(d.DurationSec / float64(d.StepSec)))
	if rows > maxRows {
		return Entry{}, fmt.Errorf("more than %d rows are not taken", maxProfileRows)
	}
	packed, err := expand(d.Rows, rows)
	if err != nil {
		return Entry{}, err
	}
	if check, err := d.sum(packed); err != nil || check != d.Check {
		return Entry{}, errors.New("it was changed after it was made")
	}
	r := &Recording{
		Path: d.File, Name: Printable(d.File), DurationSec: d.DurationSec, RowSec: d.StepSec, LoudnessLUFS: d.LoudnessLUFS, Warnings: d.Warnings,
		Format: audio.Format{Container: d.Container, Encoding: d.Encoding, Lossy: d.Lossy, RateHz: d.RateHz, Channels: d.Channels, Bits: d.Bits, Frames: -1},
	}
	if d.CutoffHz != nil {
		r.CutoffHz = *d.CutoffHz
	}
	r.Programme = d.Programme.programme()
	r.unpackRows(packed)
	if r.silentRows() {
		return Entry{}, errors.New("it is silent")
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
