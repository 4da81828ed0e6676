package page

import (
	"bytes"
	"context"
	"encoding/base64"
	"fmt"
	"html/template"
	"math"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/listen"
	"toneplumb/match/words"
	"toneplumb/spectrum/audio/flac"
)

// ExcerptSec is the longest excerpt of a recording in seconds.
const ExcerptSec = 30

// Sound is the input of a saved page's player.
type Sound struct {
	Mix       *listen.Excerpt // nil: no player
	Reference *listen.Excerpt // nil: mix and moves only
	Which     int             // index of that reference
	Notes     []string        // remarks about the sound, or why there is none

	// Layers, then Filters with their Labels, are the steps of a plan, switched instead of the moves.
	// If empty, the moves are switched.
	Layers  []Layer
	Filters []biquad.Filter
	Labels  []string
}

// embedded is a sound as text in the page.
type embedded struct {
	ID     string
	Base64 template.HTML // letters, digits, +, / and = only
}

// Stored is a sound of a player as FLAC, with its id there.
type Stored struct {
	ID   string
	FLAC []byte
}

// addTo adds sound and player to a page that has this many bytes of room for the sound.
func (s *Sound) addTo(ctx context.Context, d *pageFields, r *match.Result, room int) error {
	if s == nil {
		return nil
	}
	player, sounds, notes, err := s.Play(ctx, r, room)
	d.Player, d.SoundNotes = player, append(d.SoundNotes, notes...)
	for _, x := range sounds {
		d.Sounds = append(d.Sounds, embedded{x.ID, template.HTML(base64.StdEncoding.EncodeToString(x.FLAC))})
	}
	return err
}

// Play returns the player of a result, nil if there is nothing to compare, with its sounds and
// remarks about them. The sounds are shortened until they take at most room bytes as base64.
func (s *Sound) Play(ctx context.Context, r *match.Result, room int) (player *Player, sounds []Stored, notes []string, err error) {
	notes = append([]string{}, s.Notes...)
	if s.Mix == nil {
		return nil, nil, notes, nil
	}
	filters, labels, through := s.Filters, s.Labels, withPlan
	if len(s.Layers)+len(filters) == 0 {
		for i, m := range NewData(r).Moves {
			filters, labels = append(filters, r.Moves[i].Filter), append(labels, fmt.Sprintf("%d: %s", i+1, m.Label()))
		}
		through = throughName(len(r.Moves))
	}
	switches := len(s.Layers) + len(filters)
	if s.Reference == nil && switches == 0 {
		return nil, nil, append(notes, words.NothingToHear), nil
	}
	heard := []Heard{{Name: "mix", ID: "sound-mix", Excerpt: s.Mix}}
	if switches > 0 {
		heard = append(heard, Heard{Name: through, ID: "sound-mix", Excerpt: s.Mix, ThroughMoves: true})
	}
	if s.Reference != nil {
		heard = append(heard, Heard{Name: match.ReferenceLabel(s.Which, len(r.References)), ID: "sound-reference", Excerpt: s.Reference})
	}
	chosen := len(heard)
	for i, l := range s.Layers {
		heard = append(heard, Heard{ID: fmt.Sprintf("sound-step-%d", i+1), Excerpt: l.Excerpt})
	}
	heard, sounds, shortened, err := storeSounds(heard, room)
	if err != nil {
		return nil, nil, nil, err
	}
	if shortened {
		notes = append(notes, fmt.Sprintf("The excerpts last %.1f s, so that this page stays under %d MB.", heard[0].Excerpt.Sec(), MaxBytes/1_000_000))
	}
	var layers []Layer
	for i, h := range heard[chosen:] {
		layers = append(layers, Layer{s.Layers[i].Label, h.Excerpt, h.ID})
	}
	if player, err = NewPlayer(ctx, heard[:chosen], layers, filters, labels); err == nil && through == withPlan {
		player.Legend = "Steps of the plan that are on"
	}
	return player, sounds, notes, err
}

const withPlan = "mix with the plan"

// throughName returns the name of the mix through this number of moves.
func throughName(moves int) string {
	if moves == 1 {
		return "mix through the move"
	}
	return "mix through the moves"
}

// storeSounds stores the sounds as FLAC, all of one length, shortened until they fit into room bytes
// as base64. The dither's seed is the sound's place in the list, so that no two sounds share noise.
func storeSounds(heard []Heard, room int) (short []Heard, sounds []Stored, shortened bool, err error) {
	sec := math.Inf(1)
	for _, h := range heard {
		sec = min(sec, h.Excerpt.Sec())
	}
	sec = math.Floor(sec*10) / 10
	for {
		short, sounds = nil, nil
		total := 0
		stored := map[string]*listen.Excerpt{}
		for _, h := range heard {
			if stored[h.ID] == nil {
				e := h.Excerpt.First(sec)
				var file bytes.Buffer
				if err := flac.Write(&file, e.RateHz, e.X, uint64(len(sounds)+1)); err != nil {
					return nil, nil, false, err
				}
				total += base64.StdEncoding.EncodedLen(file.Len())
				sounds = append(sounds, Stored{h.ID, file.Bytes()})
				stored[h.ID] = e
			}
			h.Excerpt = stored[h.ID]
			short = append(short, h)
		}
		if total <= room {
			return short, sounds, shortened, nil
		}
		// In proportion, and a little less, since parts compress differently.
		sec, shortened = math.Floor(sec*10*0.98*float64(room)/float64(total))/10, true
	}
}
