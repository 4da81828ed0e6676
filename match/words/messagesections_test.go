package words_test

import (
	"toneplumb/match/probe"
	"toneplumb/match/tracks"
	"toneplumb/match/words"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/finding"
)

// section is findings whose kind is a field, with an example of each in words.
type section struct {
	title, lead string
	findings    finding.List
	texts       []string
}

func sections() []section {
	files := section{title: "Remarks on files", lead: "Each begins with the file it is about. The sound is used as far as it goes; `--part` keeps to what is whole."}
	for _, kind := range codec.Kinds {
		r := audio.Remark{Kind: kind, AtSec: 83, LostSec: 12.4, OfSec: 95.4, Count: 3, Text: "this and that"}
		if kind == codec.DecodedByBrowser {
			r.Count = 48000
		}
		files.findings, files.texts = append(files.findings, r), append(files.texts, words.Remark(r))
	}
	ofTracks := section{title: "Warnings of tracks", lead: "A warning leaves a track out or puts the result in doubt. An info is allowed for."}
	a := &tracks.Advice{Tracks: []tracks.Track{{Name: "bass"}, {Name: "keys"}}}
	for kind := tracks.IsSilent; kind <= tracks.OnMaster; kind++ {
		amount := 0.25
		if kind == tracks.IsLonger || kind == tracks.IsShorter {
			amount = 4
		}
		f := tracks.Finding{Kind: kind, Tracks: []int{0}, Amounts: []float64{amount}, Other: 1, FreqHz: 100}
		a.Findings = []tracks.Finding{f}
		ofTracks.findings, ofTracks.texts = append(ofTracks.findings, &f), append(ofTracks.texts, words.TrackFindings(a)[0])
	}
	prints := section{title: "Warnings of eqread", lead: "About the prints of the probe, or the second bounce of a mix."}
	for _, kind := range probe.FindingKinds {
		f := probe.Finding{Kind: kind, Print: 3, DB: -2.1, WantDB: 6, Hz: 1000, Places: 4}
		prints.findings, prints.texts = append(prints.findings, f), append(prints.texts, words.Finding(f))
	}
	return []section{files, ofTracks, prints}
}

const copyAgain = "Copy or export the file again if that part matters."

// toDo is what to do about each of these findings, by code.
var toDo = map[string]string{
	"stops-early": copyAgain + " Less than 0.1 s of a minute or more changes no tone: measure says it, a comparison does not.",
	"cut-off":     copyAgain, "no-end-mark": copyAgain, "no-start": copyAgain, "sound-missing": copyAgain, "silenced": copyAgain,
	"bad-samples":        "Export the recording again; look for a plug-in that went wrong.",
	"only-first":         "Give each recording a file of its own.",
	"side-by-side":       "Give each recording a file of its own.",
	"format-changes":     "Give each recording a file of its own.",
	"decoders-differ":    "Take a WAV or FLAC if there is one; the tone is right, peaks may not be.",
	"speech":             "Install ffmpeg with libopus, or convert the file to WAV.",
	"speech-damaged":     "Export it again to WAV or FLAC.",
	"ffmpeg-stopped":     copyAgain,
	"ffmpeg-complains":   copyAgain,
	"front-pair":         "Bounce to stereo if the other channels matter.",
	"decoded-by-browser": "Nothing; for its own rate give a WAV or FLAC.",
	"file":               "Make the profile again from the recordings for a code of its own.",

	"silent":           "Check that the track was on when it was bounced.",
	"duplicate":        "Leave one of the two out.",
	"absent":           "Give single tracks of this very mix, each from the mix's start.",
	"starts-elsewhere": "Bounce it again from the mix's start.",
	"is-the-mix":       "Give single tracks of the mix.",
	"below-gate":       "Nothing, or give a part of the mix in which it plays.",
	"too-brief":        "Set its fader by ear.",
	"delayed":          "Bounce it from the mix's start, with plug-in delay compensated.",
	"shifted":          "Nothing.",
	"inverted":         "Nothing, if the mix is meant so.",
	"other-level":      "Bounce the tracks with their faders where the mix had them.",
	"longer":           "Nothing.",
	"shorter":          "Nothing, if the track ends there in the mix too.",
	"not-among-tracks": "Give the missing track, or bounce the mix without what is on the master.",
	"on-master":        "Nothing, if the equaliser is meant and no track is advised on; else bounce the mix without it.",
	"level-moves":      "Bounce the mix without the compressor on the master.",

	"not-dialled":     "Print it again, or leave it out.",
	"other-way":       "Print it again with the gain's sign right.",
	"print-inverted":  "Nothing: it is allowed for.",
	"print-level":     "Set the equaliser's output gain to 0 for the prints.",
	"flat-not-flat":   "Nothing: it is taken off the others.",
	"noisy-prints":    "Mute reverb and all else, and print again.",
	"bounce-clipped":  "Turn the bounce down and bounce again.",
	"balance":         "Look for a balance or pan control.",
	"sides-unlike":    "Set both sides of the equaliser the same.",
	"not-by-a-filter": "Take compressor, limiter and saturation off, and bounce again.",
}
