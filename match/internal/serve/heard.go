package serve

import (
	"context"
	"net/http"
	"sync"

	"toneplumb/spectrum/finding"
)

// heardOutcome is what a task's outcome sounds like.
type heardOutcome struct {
	lock   sync.Mutex
	answer *playerAnswer // nil: not made yet
	sounds map[string][]byte
}

// keptHeard is the number of outcomes whose sound stays in memory. Our choice: some 30 MB each.
const keptHeard = 2

// make cuts the sounds; addresses are relative to the page.
func (h *heardOutcome) make(ctx context.Context, found *outcome, address string) error {
	player, sounds, notes, err := found.play(ctx)
	if err != nil {
		return err
	}
	h.sounds = map[string][]byte{}
	for _, x := range sounds {
		h.sounds[x.ID] = x.FLAC
	}
	if player != nil {
		for i := range player.Sources {
			player.Sources[i].Sound = address + player.Sources[i].Sound
		}
		for i := range player.Moves {
			if move := &player.Moves[i]; move.Sound != "" {
				move.Sound = address + move.Sound
			}
		}
	}
	h.answer = &playerAnswer{player, notes}
	return nil
}

// getPlayer answers with the player's input for an outcome.
func (s *Server) getPlayer(w http.ResponseWriter, r *http.Request, t *task) error {
	found := t.found()
	if found == nil || found.play == nil {
		return refusal(finding.PageOutOfDate, http.StatusNotFound, "there is nothing to play", "reload the page")
	}
	h := s.heard.getOrMake(t.id, func() *heardOutcome { return &heardOutcome{} })
	h.lock.Lock()
	defer h.lock.Unlock()
	if h.answer == nil {
		err := s.uploads.free.do(r.Context(), func() error { return h.make(r.Context(), found, "tasks/"+t.id+"/sounds/") })
		if err != nil {
			return err
		}
	}
	return writeJSON(w, http.StatusOK, h.answer)
}

// getSound answers with a sound of an outcome's player.
func (s *Server) getSound(w http.ResponseWriter, r *http.Request, t *task) error {
	var sound []byte
	if h, _ := s.heard.get(t.id); h != nil {
		h.lock.Lock()
		sound = h.sounds[r.PathValue("name")]
		h.lock.Unlock()
	}
	if sound == nil {
		return refusal(finding.PageOutOfDate, http.StatusNotFound, "this sound is no longer here", "reload the page")
	}
	w.Header().Set("Content-Type", "audio/flac")
	w.Write(sound) // an error means that the browser is gone
	return nil
}
