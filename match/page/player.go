package page

import (
	"context"
	"math"
	"strconv"

	"toneplumb/biquad"
	"toneplumb/match/listen"
	"toneplumb/match/report"
)

// Player are the numbers that the script plays by.
type Player struct {
	RateHz    int           `json:"rate_hz"` // at which the browser is asked to play: the first sound's
	Seconds   report.Number `json:"seconds"`
	LevelLUFS report.Number `json:"level_lufs"` // at which all is played, the volume at 0 dB
	Sources   []Source      `json:"sources"`
	Moves     []Switch      `json:"moves"`
	Legend    string        `json:"legend,omitempty"`   // over the switches
	NoBlind   bool          `json:"no_blind,omitempty"` // no blind comparison is offered

	// BandWeights of the served page weigh the bands of the mix by how loud they are.
	BandWeights []report.Number `json:"band_weights,omitempty"`
}

// Source is something to choose.
type Source struct {
	Name  string `json:"name"`          // "mix", "mix through the moves", "reference"
	Key   string `json:"key,omitempty"` // that chooses it; its number, from 1, if not said
	Sound string `json:"sound"`         // the id of what holds it; it changes when the sound does
	// ThroughMoves tells that it runs through those moves that are on.
	ThroughMoves bool `json:"through_moves"`
	// LoudnessLUFS is of the sound as it is stored, through the moves whose bits are set
	// in the index; of a source without moves there is one entry.
	LoudnessLUFS []report.Number `json:"loudness_lufs"`
	FromS        report.Number   `json:"from_s"`              // where the excerpt starts in the recording
	CourseLU     []report.Number `json:"course_lu,omitempty"` // per 100 ms over the loudness, null for silence; none: not drawn
}

// Switch is a move that can be switched on and off, or a sound that is added.
type Switch struct {
	Label string `json:"label"`
	// Sections are [b0 b1 b2 a0 a1 a2] by sample rate, for those it fits.
	Sections map[string][][6]coefficient `json:"sections"`
	Sound    string                      `json:"sound,omitempty"` // the id of what is added before the moves
	GainDB   report.Number               `json:"gain_db,omitempty"`
}

// Layer is a sound that is added to what runs through the moves, as long as its switch is on.
type Layer struct {
	Label   string
	Excerpt *listen.Excerpt
	id      string
}

// Heard is what a player is made of, in the order of its choices.
type Heard struct {
	Name, Key string // as those of Source
	ID        string // of the sound; two with one id are one sound
	Excerpt   *listen.Excerpt
	// ThroughMoves sends it through the moves. All that are must be one sound.
	ThroughMoves bool
}

// commonRates are those that browsers run at beside the one they are asked for. Our choice.
var commonRates = []int{44100, 48000, 88200, 96000, 176400, 192000}

// headroomDBTP is what true peaks keep to. Our choice: common practice, from memory.
const headroomDBTP = -1

// drawnCourses is of how many sounds the level over time is drawn: more lines cannot be
// told apart. Our choice.
const drawnCourses = 2

// NewPlayer measures what is heard, through each choice of the moves, and sets the
// level: that of the quietest as it is in its recording, or lower where the true peaks
// of any need room. What is silent has no say in it, and is not heard. Labels name the moves. The error says which move does
// not fit the rate, or is the context's. Layers come before the moves.
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
	level := math.Inf(1)
	measured := map[string][]listen.Level{}
	for _, h := range heard {
		if h.ThroughMoves {
			all, err := h.Excerpt.LayeredLevels(ctx, added, moves)
			if err != nil {
				return nil, err
			}
			measured[h.ID] = all
		}
	}
	drawn := map[string]bool{}
	for _, h := range heard {
		if measured[h.ID] == nil {
			all, err := h.Excerpt.Levels(ctx, nil)
			if err != nil {
				return nil, err
			}
			measured[h.ID] = all
		}
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

// sectionsByRate designs a move for the rate and the common ones that it fits.
func sectionsByRate(f biquad.Filter, rateHz int) map[string][][6]coefficient {
	all := map[string][][6]coefficient{}
	for _, rate := range append([]int{rateHz}, commonRates...) {
		if f.Check(float64(rate)) == nil {
			all[strconv.Itoa(rate)] = sectionsOf(f, float64(rate))
		}
	}
	return all
}

// coefficient is written with 14 decimals: the same on every processor, where the last
// bits are not, and 1e-10 of the smallest pole distance that a dial can make.
type coefficient float64

// MarshalJSON implements json.Marshaler.
func (c coefficient) MarshalJSON() ([]byte, error) {
	return strconv.AppendFloat(nil, float64(c), 'f', 14, 64), nil
}

// sectionsOf are the sections of a move at a rate as [b0 b1 b2 a0 a1 a2].
func sectionsOf(f biquad.Filter, rateHz float64) [][6]coefficient {
	var all [][6]coefficient
	for _, c := range f.Sections(rateHz) {
		all = append(all, [6]coefficient{coefficient(c.B0), coefficient(c.B1), coefficient(c.B2), 1, coefficient(c.A1), coefficient(c.A2)})
	}
	return all
}
