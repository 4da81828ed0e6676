package serve

import (
	"math"
	"net/http"

	"gonum.org/v1/gonum/floats"

	"toneplumb/match/report"
	"toneplumb/match/words"
	"toneplumb/spectrum/loudness"
)

// recordingState is what the page knows about a recording.
type recordingState struct {
	ID      string        `json:"id"`
	Name    string        `json:"name"`
	State   string        `json:"state"`
	Role    string        `json:"role"`
	Next    string        `json:"next"` // the role it takes once it is measured; "": it stays as it is
	Number  int           `json:"number"`
	Sum     string        `json:"sha256"` // of the file, once it has arrived
	Done    report.Number `json:"done"`   // share read, 0 to 1; null if the length is unknown
	Trouble *userError    `json:"trouble"`
	trackPlacing
	Profile  int           `json:"profile"` // number of recordings in the profile; 0: not a profile
	Duration report.Number `json:"duration_s"`
	Warnings []string      `json:"warnings"`

	// LevelsLUFS is the loudness of each second, for choosing a part; null where silent.
	LevelsLUFS []report.Number `json:"levels_lufs"`
}

func (s *Server) getRecording(w http.ResponseWriter, r *http.Request, rec *recording) error {
	return writeJSON(w, http.StatusOK, rec.status())
}

func (rec *recording) status() recordingState {
	rec.lock.Lock()
	defer rec.lock.Unlock()
	state := recordingState{ID: rec.id, Name: rec.name, State: rec.state, Role: rec.role, Next: rec.next, Number: rec.number, Trouble: rec.failure, trackPlacing: rec.placing, Warnings: []string{}}
	state.Done = report.Number(float64(rec.done.Load()) / float64(max(rec.frames.Load(), 0)))
	if rec.state != arriving {
		state.Sum = rec.sum
	}
	if rec.state == arriving {
		state.Done = report.Number(float64(rec.making.Load()) / 1000)
	}
	if rec.input.IsProfile {
		state.Profile = len(rec.input.Entries)
	}
	if rec.state == ready && !rec.input.IsProfile {
		table := rec.input.Entries[0].Recording
		state.Duration = report.Number(table.DurationSec)
		for _, remark := range table.Warnings {
			if !remark.IsMoment() {
				state.Warnings = append(state.Warnings, words.Remark(remark))
			}
		}
		state.LevelsLUFS = levels(table.StepPower)
	}
	return state
}

// levels returns the loudness of whole seconds, from K-weighted powers per tenth of a second.
func levels(steps []float64) []report.Number {
	const perSecond = 10
	var all []report.Number
	for i := 0; i+perSecond <= len(steps); i += perSecond {
		lufs := loudness.LUFS(floats.Sum(steps[i:i+perSecond]) / perSecond)
		if !(lufs > -100) {
			lufs = math.NaN()
		}
		all = append(all, report.Number(lufs))
	}
	return all
}
