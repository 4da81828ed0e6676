package serve

import (
	"encoding/json"
	"errors"
	"testing"

	"toneplumb/match/job"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
)

// An error has its code in JSON, as the terminal prints it.
func TestErrorCodes(t *testing.T) {
	for want, err := range map[finding.ErrorKind]error{
		finding.NoSound:       &audio.Error{Kind: finding.NoSound, Path: "a.wav", Problem: "is empty"},
		finding.PrintName:     job.Fail(finding.PrintName, "", "which print is it"),
		finding.PageOutOfDate: refusal(finding.PageOutOfDate, 404, "gone", "reload"),
		finding.ProgramFault:  errors.New("nobody gave this words"),
	} {
		text, _ := json.Marshal(userErrorOf(err, "a.wav"))
		var got struct{ Code finding.ErrorKind }
		if err := json.Unmarshal(text, &got); err != nil || got.Code != want {
			t.Errorf("%s: want %s (%v)", text, want, err)
		}
	}
}
