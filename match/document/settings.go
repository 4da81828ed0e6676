// Package document reads the documents that people keep and may edit by hand: settings (the
// moves of an equaliser) and the description of an equaliser, both in JSON, and drawn curves
// as CSV. Errors name the field or line. match/artefact/README.md has every field.
//
// It builds on biquad/fit; match and all above use it.
package document

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"

	"toneplumb/biquad"
	"toneplumb/spectrum"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// Settings are the moves of an equaliser: the part of match's JSON document that is needed to
// send sound through them.
type Settings struct {
	RateHz float64 // at which the moves were designed
	Moves  []biquad.Filter
	TrimDB float64
	Origin *Origin // what the moves were found on; nil if the document does not say
}

// maxSettingsBytes is the largest document that ReadSettings accepts. Our choice: a document
// with all curves has 60 kB.
const maxSettingsBytes = 16 << 20

// ReadSettings reads versions 1 and 2 of the document. They differ only in fields other than
// these; ReadSettings takes all others as they come, see [Origin]. An error names the field, or the line if the
// JSON is wrong.
//
//	version  1 or 2
//	rate_hz  the sample rate at which the moves were designed, 8000 to 192000
//	moves    one filter each, 64 at most; moveFields in settingsmove.go has their fields
//	trim_db  may be missing if there are no moves
func ReadSettings(in io.Reader) (*Settings, error) {
	raw, err := io.ReadAll(io.LimitReader(measure.Text(in), maxSettingsBytes+1))
	if err != nil {
		return nil, err
	}
	if len(raw) > maxSettingsBytes {
		return nil, errors.New("it is larger than any settings document")
	}
	var d struct {
		Version *int          `json:"version"`
		RateHz  *float64      `json:"rate_hz"`
		Moves   *[]moveFields `json:"moves"`
		TrimDB  *float64      `json:"trim_db"`
		Tracks  *[]any        `json:"tracks"` // of another document
	}
	if err := json.Unmarshal(raw, &d); err != nil {
		return nil, jsonProblem(raw, err)
	}
	switch {
	case d.Tracks != nil:
		return nil, errors.New("it is a plan that tracks wrote, which needs the single tracks too, as in render MIX PLAN TRACKS")
	case d.Version == nil:
		return nil, errors.New(`the field "version" is missing`)
	case *d.Version != 1 && *d.Version != 2:
		return nil, finding.OtherVersion.Of(fmt.Errorf(`the field "version" is %d; only 1 and 2 are known`, *d.Version))
	case d.Moves == nil:
		return nil, errors.New(`the field "moves" is missing`)
	case len(*d.Moves) > maxSettingsMoves:
		return nil, fmt.Errorf(`the field "moves" has %d entries; %d at most are taken`, len(*d.Moves), maxSettingsMoves)
	}
	s := &Settings{Origin: originOf(raw)}
	if s.RateHz, err = needed("rate_hz", d.RateHz, 8000, 192000); err != nil {
		return nil, err
	}
	if d.TrimDB == nil && len(*d.Moves) > 0 {
		return nil, errors.New(`the field "trim_db" is missing`)
	}
	if d.TrimDB != nil {
		if s.TrimDB = *d.TrimDB; math.Abs(s.TrimDB) > maxGainDB {
			return nil, fmt.Errorf(`the field "trim_db" is %g, beyond ±%d`, s.TrimDB, maxGainDB)
		}
	}
	total := 0.0
	for i, m := range *d.Moves {
		f, err := m.filter(fmt.Sprintf("moves[%d]", i), s.RateHz)
		if err != nil {
			return nil, err
		}
		s.Moves = append(s.Moves, f)
		if total += math.Abs(f.GainDB); total > maxTotalDB {
			return nil, fmt.Errorf(`the field "moves" has gains of more than %d dB in all`, maxTotalDB)
		}
	}
	return s, nil
}

// Bounds of settings that somebody may have written by hand. Our choice: wider than any
// equaliser, narrow enough that nothing overflows.
const (
	maxSettingsMoves = 64
	maxGainDB        = 40
	maxTotalDB       = 160 // 64 moves of 2.5 dB
)

// jsonProblem returns in words where a document is not JSON or has a value of the wrong type.
func jsonProblem(raw []byte, err error) error {
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	line := func(offset int64) int { return 1 + bytes.Count(raw[:min(int(offset), len(raw))], []byte("\n")) }
	switch {
	case errors.As(err, &syntax):
		return fmt.Errorf("it is not JSON (line %d cannot be read)", line(syntax.Offset))
	case errors.As(err, &kind) && kind.Field == "":
		return fmt.Errorf("the document is a %s, not fields in braces (line %d)", kind.Value, line(kind.Offset))
	case errors.As(err, &kind):
		return fmt.Errorf("the field %q holds a %s (line %d)", kind.Field, kind.Value, line(kind.Offset))
	}
	return errors.New("it is not JSON")
}

// PowerGain returns |H|² of the moves and the trim, for each band of package spectrum.
func (s *Settings) PowerGain() []float64 {
	gain := biquad.ResponseDB(nil, s.Moves, spectrum.Centres(), s.RateHz)
	for b, db := range gain {
		gain[b] = spectrum.DBToPower(db + s.TrimDB)
	}
	return gain
}
