package training

import (
	"math"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/spectrum"
)

// Practice is what a page needs to hide moves by itself: one bell in each zone where it can be
// heard.
type Practice struct {
	StepDB float64        `json:"step_db"` // of gains
	Q      float64        `json:"q"`
	Zones  []PracticeZone `json:"zones"`
}

// PracticeZone is a bell. Up and Down are by how much the sound is to be turned, in dB, so that
// it stays as loud, at gains of one step, two steps and so on.
type PracticeZone struct {
	Name   string    `json:"name"`
	FreqHz float64   `json:"hz"`
	Up     []float64 `json:"up_db"`
	Down   []float64 `json:"down_db"`
}

// practiceHz are the bells, one a zone; octaves and third octaves of ISO 266 (from memory).
var practiceHz = []float64{45, 100, 315, 1000, 3150, 8000, 12500}

// Our choice: as the places of tasks, and as far as they go.
const (
	practiceQ      = 1.0
	practiceMostDB = 12.0
)

// Practice returns the bells that can be heard in the excerpt at the largest gain, by the rules of
// [Easy].
func (h *Hearing) Practice() Practice {
	p := Practice{StepDB: gainStepDB, Q: practiceQ}
	for i, z := range match.Zones() {
		f := biquad.Filter{Shape: biquad.Bell, FreqHz: practiceHz[i], Q: practiceQ}
		zone := PracticeZone{Name: z.Name, FreqHz: f.FreqHz}
		heard := f.Check(h.rateHz) == nil
		for _, sign := range []float64{1, -1} {
			var turned []float64
			for db := gainStepDB; heard && db <= practiceMostDB; db += gainStepDB {
				f.GainDB = sign * db
				turned = append(turned, math.Round(100*h.levelDB(f))/100)
			}
			heard = heard && h.Change([]biquad.Filter{f}).ExcitationDB >= Easy.Rules().ExcitationDB
			if sign > 0 {
				zone.Up = turned
			} else {
				zone.Down = turned
			}
		}
		if heard {
			p.Zones = append(p.Zones, zone)
		}
	}
	return p
}

// levelDB is by how much the excerpt through a move is to be turned to be as loud as before.
func (h *Hearing) levelDB(f biquad.Filter) float64 {
	factor := h.factor([]biquad.Filter{f})
	if factor == nil {
		return 0
	}
	far := 0 // a band that the bell leaves alone: what is left there is the level
	for b, hz := range spectrum.Centres() {
		if math.Abs(math.Log2(hz/f.FreqHz)) > math.Abs(math.Log2(spectrum.CentreHz(far)/f.FreqHz)) {
			far = b
		}
	}
	own := biquad.ResponseDB(nil, []biquad.Filter{f}, []float64{spectrum.CentreHz(far)}, h.rateHz)[0]
	return spectrum.PowerToDB(factor[far]) - own
}
