package words

import (
	"fmt"
	"io"
	"slices"

	"toneplumb/match/tracks"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/finding"
)

// ofATrack has a finding of each kind about the first track.
func ofATrack() (all []finding.Finding) {
	for kind := tracks.DecoderSays; kind <= tracks.OnMaster; kind++ {
		f := &tracks.Finding{Kind: kind, Tracks: []int{0}, Amounts: []float64{0.25}, Other: 3, FreqHz: 100}
		switch kind {
		case tracks.DecoderSays:
			f.Remark = audio.Remark{Kind: codec.FFmpegComplains, Text: "50 % of it lost"}
		case tracks.IsLonger, tracks.IsShorter, tracks.HasOtherLevel, tracks.LevelMoves, tracks.OnMaster:
			f.Amounts[0] = 4
		}
		all = append(all, f)
	}
	return all
}

// trackTexts has each kind of finding about one track and, if it can be about several, with the other sign, about
// two; what is said of three with different amounts and of all; and how times are written.
func trackTexts(out io.Writer) {
	a := &tracks.Advice{Tracks: []tracks.Track{{Name: "bass"}, {Name: "keys 100%"}, {Name: "horns"}, {Name: "drums"}}}
	for _, f := range ofATrack() {
		one := *f.(*tracks.Finding)
		a.Findings = append(a.Findings, one)
		if sentences[one.Kind].more != "" || one.Kind == tracks.IsDuplicate {
			sign := Either(one.Kind == tracks.IsLonger || one.Kind == tracks.IsShorter, 1.0, -1)
			one.Tracks, one.Amounts = []int{0, 1}, slices.Repeat([]float64{sign * one.Amounts[0]}, 2)
			a.Findings = append(a.Findings, one)
		}
	}
	add := func(kind tracks.FindingKind, amounts ...float64) {
		a.Findings = append(a.Findings, tracks.Finding{Kind: kind, Tracks: []int{0, 1, 2, 3}[:len(amounts)], Amounts: amounts})
	}
	add(tracks.IsTooBrief, 0)
	add(tracks.IsTooBrief, 0, 0)
	add(tracks.IsDelayed, 0.0012, 0.0003, 0.0012)
	add(tracks.IsDelayed, 0.012, 0.012, 0.012, 0.012)
	add(tracks.IsDelayed, 0.00005)
	add(tracks.StartsElsewhere, 4)
	fmt.Fprintf(out, "\n## findings about tracks\n")
	for i, text := range TrackFindings(a) {
		f := &a.Findings[i]
		fmt.Fprintf(out, "%s %s: %s\n", f.Severity(), f.Code(), text)
	}
}
