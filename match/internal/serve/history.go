package serve

import (
	"crypto/rand"
	"net/http"
	"slices"
	"sync"

	"toneplumb/match"
	"toneplumb/match/report"
)

// history is the list of comparisons since the server started, the newest last, so that a reload or
// a second tab shows them. It is lost when the server stops.
type history struct {
	lock    sync.Mutex
	entries []*historyEntry
}

// historyEntry is one pair of mix and references, as last compared.
type historyEntry struct {
	ID         string        `json:"id"`
	Mix        string        `json:"mix"` // names
	References []string      `json:"references"`
	Request    *request      `json:"request"`
	Moves      int           `json:"moves"`
	Before     report.Number `json:"distance_before_db"` // of the bounce itself
	After      report.Number `json:"distance_after_db"`
	BounceOf   string        `json:"bounce_of"` // the entry whose mix this is a new bounce of, "" for none
}

// mostEntries is the length of the list. Our choice: more than a long day needs.
const mostEntries = 100

// note adds a comparison to the list, or updates it, and returns its id.
func (s *history) note(a *request, r *match.Result, asBounced *report.Number) string {
	s.lock.Lock()
	defer s.lock.Unlock()
	e := &historyEntry{ID: rand.Text()}
	if i := s.index(a); i >= 0 {
		e = s.entries[i]
	} else if s.entries = append(s.entries, e); len(s.entries) > mostEntries {
		s.entries = s.entries[1:]
	}
	e.Mix, e.References = a.mix.name, nil
	for _, ref := range a.references {
		e.References = append(e.References, ref.name)
	}
	asked := *a
	asked.mix, asked.references, asked.options.Previous = nil, nil, nil // else their tables would stay in memory after removal
	e.Request, e.Moves = &asked, len(r.Moves)
	e.Before, e.After = report.Number(r.DistanceBeforeDB), report.Number(r.DistanceAfterDB)
	if asBounced != nil {
		e.Before = *asBounced
	}
	if a.After != "" && a.After != e.ID {
		e.BounceOf = a.After
	}
	return e.ID
}

// index returns the index of the entry for a request, −1 if there is none; lock must be held.
func (s *history) index(a *request) int {
	return slices.IndexFunc(s.entries, func(e *historyEntry) bool {
		return e.Request.Mix == a.Mix && slices.Equal(e.Request.References, a.References)
	})
}

// idOf returns the id of the entry for a request, "" if there is none.
func (s *history) idOf(a *request) string {
	s.lock.Lock()
	defer s.lock.Unlock()
	if i := s.index(a); i >= 0 {
		return s.entries[i].ID
	}
	return ""
}

// getHistory answers with the list of comparisons and of recordings.
func (s *Server) getHistory(w http.ResponseWriter, r *http.Request) {
	recordings := []recordingState{}
	for _, rec := range s.uploads.list() {
		recordings = append(recordings, rec.status())
	}
	entries := []historyEntry{} // copies: a slow browser must not hold the lock
	s.history.lock.Lock()
	for _, e := range s.history.entries {
		entries = append(entries, *e)
	}
	s.history.lock.Unlock()
	writeJSON(w, http.StatusOK, map[string]any{"comparisons": entries, "recordings": recordings})
}

// forget removes a comparison from the list; its recordings stay.
func (s *Server) forget(w http.ResponseWriter, r *http.Request) {
	s.history.lock.Lock()
	defer s.history.lock.Unlock()
	s.history.entries = slices.DeleteFunc(s.history.entries, func(e *historyEntry) bool { return e.ID == r.PathValue("id") })
	w.WriteHeader(http.StatusNoContent)
}
