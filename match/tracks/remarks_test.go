package tracks

import (
	"testing"

	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/measure/multitrack"
)

// What the reader of a track's file says is a finding, but for a moment that its end lacks.
func TestRemarksOnTracks(t *testing.T) {
	moment, damage := codec.StopsAt(90*44100-4096, 90*44100, 44100), audio.Remark{Kind: codec.NoStart}
	s := &session{tracks: []*track{{Track: &multitrack.Track{Warnings: []audio.Remark{moment, damage}}, state: Silent}}}
	var all findings
	s.trackFindings(&all, 0)
	if len(all) != 2 || all[0].Kind != DecoderSays || all[0].Remark != damage || all[1].Kind != IsSilent {
		t.Errorf("%+v", all)
	}
}
