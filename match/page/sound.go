package page

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"html/template"
	"math"
	"strconv"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/listen"
	"toneplumb/match/report"
	"toneplumb/spectrum/audio"
)

// ExcerptSec is how much of a recording is heard, at most.
const ExcerptSec = 30

// Sound is what the player plays.
type Sound struct {
	Mix       *listen.Excerpt // nil: there is no player
	Reference *listen.Excerpt // nil: mix and moves only
	Which     int             // which reference that is
	Notes     []string        // what to know about the sound, or why there is none
}

// Player are the numbers that the script plays by.
type Player struct {
	RateHz    int           `json:"rate_hz"` // the mix's
	Seconds   report.Number `json:"seconds"`
	LevelLUFS report.Number `json:"level_lufs"` // at which all is played, the volume at 0 dB
	Sources   []Source      `json:"sources"`
	Moves     []Switch      `json:"moves"`
}

// Source is something to choose.
type Source struct {
	Name  string `json:"name"`  // "mix", "mix through the moves", "reference"
	Sound string `json:"sound"` // the id of the element that holds it
	// ThroughMoves tells that it runs through those moves that are on.
	ThroughMoves bool `json:"through_moves"`
	// LoudnessLUFS is of the sound as it is stored, through the moves whose bits are set
	// in the index; of a source without moves there is one entry.
	LoudnessLUFS []report.Number `json:"loudness_lufs"`
	FromS        report.Number   `json:"from_s"`    // where the excerpt starts in the recording
	CourseLU     []report.Number `json:"course_lu"` // per 100 ms over the loudness; null for silence
}

// Switch is a move that can be switched on and off.
type Switch struct {
	Label string `json:"label"`
	// Sections are [b0 b1 b2 a0 a1 a2] by sample rate, for those it fits.
	Sections map[string][][6]coefficient `json:"sections"`
}

// commonRates are those that browsers run at beside the mix's own. Our choice.
var commonRates = []int{44100, 48000, 88200, 96000}

// seeds of the dither, one each, so that no two sounds share a noise.
const mixSeed, referenceSeed = 1, 2

// headroomDBTP is what true peaks keep to. Our choice: common practice, from memory.
const headroomDBTP = -1

// addTo puts sound and player into a page that has room for so many bytes of them.
func (s *Sound) addTo(d *document, r *match.Result, room int) error {
	if s == nil {
		return nil
	}
	d.SoundNotes = append(d.SoundNotes, s.Notes...)
	if s.Mix == nil {
		return nil
	}
	if s.Reference == nil && len(r.Moves) == 0 {
		d.SoundNotes = append(d.SoundNotes, "There are no moves, and the mix alone is nothing to compare.")
		return nil
	}
	mix, reference, shortened, err := s.fit(d, room)
	if err != nil {
		return err
	}
	if shortened {
		d.SoundNotes = append(d.SoundNotes, fmt.Sprintf("The excerpts last %.1f s, so that this page stays under %d MB.", mix.Sec(), MaxBytes/1_000_000))
	}
	d.Player, err = player(d.Data, r, mix, reference, s.Which)
	return err
}

// fit stores the excerpts, of one length, as FLAC in the page, shortened until they fit.
func (s *Sound) fit(d *document, room int) (mix, reference *listen.Excerpt, shortened bool, err error) {
	sec := s.Mix.Sec()
	if s.Reference != nil {
		sec = min(sec, s.Reference.Sec())
	}
	sec = math.Floor(sec*10) / 10
	for {
		mix, d.Sounds = s.Mix.First(sec), nil
		total := 0
		add := func(id string, e *listen.Excerpt, seed uint64) error {
			var flac bytes.Buffer
			if err := audio.WriteFLAC(&flac, e.RateHz, e.X, seed); err != nil {
				return err
			}
			text := base64.StdEncoding.EncodeToString(flac.Bytes())
			total += len(text)
			d.Sounds = append(d.Sounds, embedded{id, template.HTML(text)})
			return nil
		}
		if err := add("sound-mix", mix, mixSeed); err != nil {
			return nil, nil, false, err
		}
		if s.Reference != nil {
			reference = s.Reference.First(sec)
			if err := add("sound-reference", reference, referenceSeed); err != nil {
				return nil, nil, false, err
			}
		}
		if total <= room {
			return mix, reference, shortened, nil
		}
		// In proportion, and a little less, since parts differ.
		sec, shortened = math.Floor(sec*10*0.98*float64(room)/float64(total))/10, true
	}
}

// player measures what is stored and sets the level: that of the quietest as it is in
// its recording, or lower where peaks need room.
func player(d *Data, r *match.Result, mix, reference *listen.Excerpt, which int) (*Player, error) {
	p := &Player{RateHz: mix.RateHz, Seconds: report.Number(mix.Sec()), Sources: []Source{}, Moves: []Switch{}}
	var filters []biquad.Filter
	for i, m := range r.Moves {
		filters = append(filters, m.Filter)
		p.Moves = append(p.Moves, Switch{fmt.Sprintf("%d: %s", i+1, d.Moves[i].Label()), sectionsByRate(m.Filter, mix.RateHz)})
	}
	level := math.Inf(1)
	add := func(name, sound string, e *listen.Excerpt, levels []listen.Level) {
		s := Source{Name: name, Sound: sound, FromS: report.Number(e.FromSec), ThroughMoves: len(levels) > 1}
		for _, l := range levels {
			s.LoudnessLUFS = append(s.LoudnessLUFS, report.Number(l.LoudnessLUFS))
			level = min(level, headroomDBTP-(l.TruePeakDBTP-l.LoudnessLUFS))
		}
		level = min(level, levels[0].LoudnessLUFS-e.ScaleDB)
		for _, lufs := range e.CourseLUFS() {
			s.CourseLU = append(s.CourseLU, report.Number(math.Round(100*(lufs-levels[0].LoudnessLUFS))/100))
		}
		p.Sources = append(p.Sources, s)
	}
	levels, err := mix.Levels(filters)
	if err != nil {
		return nil, err
	}
	add("mix", "sound-mix", mix, levels[:1])
	if len(filters) > 0 {
		name := "mix through the moves"
		if len(filters) == 1 {
			name = "mix through the move"
		}
		add(name, "sound-mix", mix, levels)
	}
	if reference != nil {
		levels, err := reference.Levels(nil)
		if err != nil {
			return nil, err
		}
		add(report.ReferenceLabel(which, r), "sound-reference", reference, levels)
	}
	p.LevelLUFS = report.Number(level)
	return p, nil
}

// sectionsByRate designs a move for the mix's rate and the common ones that it fits.
func sectionsByRate(f biquad.Filter, rateHz int) map[string][][6]coefficient {
	all := map[string][][6]coefficient{}
	for _, rate := range append([]int{rateHz}, commonRates...) {
		if f.Check(float64(rate)) == nil {
			all[strconv.Itoa(rate)] = sectionsOf(f, float64(rate))
		}
	}
	return all
}
