package page

import (
	"context"
	"math"
	"strconv"

	"toneplumb/biquad"
	"toneplumb/match/listen"
	"toneplumb/match/report"
)

// Player is the input of the player's script.
type Player struct {
	RateHz    int           `json:"rate_hz"` // rate the browser is asked to play at: that of the first sound
	Seconds   report.Number `json:"seconds"`
	LevelLUFS report.Number `json:"level_lufs"` // loudness of all sources with the volume at 0 dB
	Sources   []Source      `json:"sources"`
	Moves     []Switch      `json:"moves"`
	Legend    string        `json:"legend,omitempty"` // heading of the switches

	// BandWeights are the shares of the mix's bands in its loudness; only on the served page.
	BandWeights []report.Number `json:"band_weights,omitempty"`
}

// Source is a choice of what to hear.
type Source struct {
	Name  string `json:"name"`          // "mix", "mix through the moves", "reference"
	Key   string `json:"key,omitempty"` // its key on the keyboard; "": its number, from 1
	Sound string `json:"sound"`         // the sound's id; it changes when the sound does
	// ThroughMoves reports whether it runs through the moves that are on.
	ThroughMoves bool `json:"through_moves"`
	// LoudnessLUFS is the loudness of the stored sound through the moves whose bits are set in the
	// index; a source without moves has one entry.
	LoudnessLUFS []report.Number `json:"loudness_lufs"`
	FromS        report.Number   `json:"from_s"`              // where the excerpt starts in the recording
	CourseLU     []report.Number `json:"course_lu,omitempty"` // level per 100 ms relative to the loudness, null for silence; absent: not drawn
}

// Switch is a move, or a sound to add, that can be switched on and off.
type Switch struct {
	Label string `json:"label"`
	// Sections are [b0 b1 b2 a0 a1 a2] by sample rate, for the rates at which the move exists.
	Sections map[string][][6]coefficient `json:"sections"`
	Sound    string                      `json:"sound,omitempty"` // id of the sound to add before the moves
	GainDB   report.Number               `json:"gain_db,omitempty"`
}

// Layer is a sound that is added before the moves while its switch is on.
type Layer struct {
	Label   string
	Excerpt *listen.Excerpt
	id      string
}

// Heard is a source for [NewPlayer].
type Heard struct {
	Name, Key string // as in Source
	ID        string // id of the sound; the same id means the same sound
	Excerpt   *listen.Excerpt
	// ThroughMoves sends it through the moves. All with it must have the same sound.
	ThroughMoves bool
}

// commonRates are the rates browsers run at if not at the requested one. Our choice.
var commonRates = []int{44100, 48000, 88200, 96000, 176400, 192000}

// headroomDBTP is the largest true peak. Our choice: common practice, from memory.
const headroomDBTP = -1

// drawnCourses is the number of sounds whose level over time is drawn: more lines cannot be told
// apart. Our choice.
const drawnCourses = 2

// NewPlayer measures all sources, through each combination of the moves, and sets the level: that of
// the quietest source in its recording, or lower if a true peak needs room. Silent sources do not
// affect the level and are not heard. labels name the moves. Layers come before the moves. heard must
// have an entry. The error says which move does not exist at the rate, or is ctx's.
func NewPlayer(ctx context.Context, heard []Heard, layers []Layer, moves []biquad.Filter, labels []string) (*Player, error) {
	first, through := heard[0].Excerpt, heard[0].Excerpt
	for _, h := range heard {
		if h.ThroughMoves {
			through = h.Excerpt
		}
	}
	p := &Player{RateHz: first.RateHz, Seconds: report.Number(first.Sec()), Sources: []Source{}, Moves: []Switch{}}
	var added []*listen.Excerpt
	for _, l := range layers {
		added = append(added, l.Excerpt)
		p.Moves = append(p.Moves, Switch{Label: l.Label, Sections: map[string][][6]coefficient{}, Sound: l.id, GainDB: report.Number(through.ScaleDB - l.Excerpt.ScaleDB)})
	}
	for i, f := range moves {
		p.Moves = append(p.Moves, Switch{Label: labels[i], Sections: sectionsByRate(f, first.RateHz)})
	}
	measured, err := levelsOf(ctx, heard, added, moves)
	if err != nil {
		return nil, err
	}
	level := math.Inf(1)
	drawn := map[string]bool{}
	for _, h := range heard {
		levels := measured[h.ID]
		if !h.ThroughMoves {
			levels = levels[:1]
		}
		s := Source{Name: h.Name, Key: h.Key, Sound: h.ID, FromS: report.Number(h.Excerpt.FromSec), ThroughMoves: h.ThroughMoves}
		for _, l := range levels {
			s.LoudnessLUFS = append(s.LoudnessLUFS, report.Number(l.LoudnessLUFS))
			if !math.IsInf(l.LoudnessLUFS, -1) {
				level = min(level, headroomDBTP-(l.TruePeakDBTP-l.LoudnessLUFS))
			}
		}
		if !math.IsInf(levels[0].LoudnessLUFS, -1) {
			level = min(level, levels[0].LoudnessLUFS-h.Excerpt.ScaleDB)
		}
		if !drawn[h.ID] && len(drawn) < drawnCourses {
			drawn[h.ID] = true
			for _, lufs := range h.Excerpt.CourseLUFS() {
				s.CourseLU = append(s.CourseLU, report.Number(math.Round(100*(lufs-levels[0].LoudnessLUFS))/100))
			}
		}
		p.Sources = append(p.Sources, s)
	}
	p.LevelLUFS = report.Number(level)
	return p, nil
}

// levelsOf measures each sound once, by its id: with every choice of layers and moves if a source
// of it runs through them, else alone.
func levelsOf(ctx context.Context, heard []Heard, layers []*listen.Excerpt, moves []biquad.Filter) (map[string][]listen.Level, error) {
	measured := map[string][]listen.Level{}
	for _, through := range []bool{true, false} { // the first choice is alone
		for _, h := range heard {
			if h.ThroughMoves != through || measured[h.ID] != nil {
				continue
			}
			var err error
			if through {
				measured[h.ID], err = h.Excerpt.LayeredLevels(ctx, layers, moves)
			} else {
				measured[h.ID], err = h.Excerpt.Levels(ctx, nil)
			}
			if err != nil {
				return nil, err
			}
		}
	}
	return measured, nil
}

// sectionsByRate designs a move for the rate and for each common rate at which it exists.
func sectionsByRate(f biquad.Filter, rateHz int) map[string][][6]coefficient {
	all := map[string][][6]coefficient{}
	for _, rate := range append([]int{rateHz}, commonRates...) {
		if f.Check(float64(rate)) == nil {
			all[strconv.Itoa(rate)] = sectionsOf(f, float64(rate))
		}
	}
	return all
}

// coefficient is written with 14 decimals: those are the same on every processor, unlike the last
// bits, and are 1e-10 of the smallest pole distance that a dial can make.
type coefficient float64

// MarshalJSON implements json.Marshaler.
func (c coefficient) MarshalJSON() ([]byte, error) {
	return strconv.AppendFloat(nil, float64(c), 'f', 14, 64), nil
}

// sectionsOf returns the sections of a move at a rate as [b0 b1 b2 a0 a1 a2].
func sectionsOf(f biquad.Filter, rateHz float64) [][6]coefficient {
	var all [][6]coefficient
	for _, c := range f.Sections(rateHz) {
		all = append(all, [6]coefficient{coefficient(c.B0), coefficient(c.B1), coefficient(c.B2), 1, coefficient(c.A1), coefficient(c.A2)})
	}
	return all
}
