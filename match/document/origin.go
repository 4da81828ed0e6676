package document

import "encoding/json"

// Origin is what the moves of a settings document were found on. A document keeps no curve of
// the mix's tone, but it keeps these.
type Origin struct {
	RangeHz    [2]float64       `json:"range_hz"`
	Mix        *OriginRecording `json:"mix"`
	References []OriginRecording
	Moves      []OriginMove
}

// OriginRecording is what tells a recording from others. A figure that was not known is 0, or
// nil for the true peak.
type OriginRecording struct {
	DurationSec  float64    `json:"duration_s"`
	PartSec      [2]float64 `json:"part_s"` // the first and last second that was used
	LoudnessLUFS float64    `json:"loudness_lufs"`
	RangeLU      float64    `json:"loudness_range_lu"`
	TruePeakDBTP *float64   `json:"true_peak_dbtp"`
}

// OriginMove is why a move was advised.
type OriginMove struct {
	Reason   string  `json:"reason_code"`
	ReasonDB float64 `json:"reason_db"`
}

// originOf returns the origin in a document, nil if it has none that can be read: people write
// settings by hand, and every other field of theirs is their own.
func originOf(raw []byte) *Origin {
	var o Origin
	if err := json.Unmarshal(raw, &o); err != nil || o.Mix == nil {
		return nil
	}
	return &o
}
