package serve

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"os"

	"toneplumb/match/document"
	"toneplumb/match/job"
)

// getEqualiser answers with the description that the person kept, as with --keep; null if there is
// none.
func (s *Server) getEqualiser(w http.ResponseWriter, r *http.Request) {
	path, _ := job.KeptEqualiser()
	text, err := os.ReadFile(path)
	if err == nil {
		_, err = document.ParseEqualiser(text)
	}
	if err != nil || !json.Valid(text) { // such as UTF-16, which only the command line reads
		text = []byte("null")
	}
	writeJSON(w, http.StatusOK, map[string]json.RawMessage{"equaliser": text})
}

// keepEqualiser keeps the description in the request, for the command line too.
func (s *Server) keepEqualiser(w http.ResponseWriter, r *http.Request) {
	text, err := io.ReadAll(http.MaxBytesReader(w, r.Body, maxRequestBytes))
	if err == nil {
		err = s.withKept(func(path string) error { return job.KeepEqualiser(path, text) })
	}
	s.done(w, err)
}

func (s *Server) forgetEqualiser(w http.ResponseWriter, r *http.Request) {
	s.done(w, s.withKept(job.ForgetEqualiser))
}

// withKept calls do with the path of the kept description.
func (s *Server) withKept(do func(path string) error) error {
	path, has := job.KeptEqualiser()
	if !has {
		return &userError{What: "there is no folder of yours to keep an equaliser in", Hint: "set HOME, and start toneplumb serve again"}
	}
	return do(path)
}

// done answers that something was done, or why not.
func (s *Server) done(w http.ResponseWriter, err error) {
	if err != nil {
		writeJSON(w, http.StatusUnprocessableEntity, userErrorOf(err, ""))
		return
	}
	w.WriteHeader(http.StatusNoContent)
}

// movesOf answers with the moves of a settings document, as dialled on the equaliser.
func (s *Server) movesOf(ctx context.Context, a *request) (any, error) {
	settings, err := document.ReadSettings(bytes.NewReader(a.From))
	if err != nil {
		return nil, &userError{What: "the settings cannot be read: " + err.Error(), Hint: "give the settings that were taken away here, or by match -o settings.json"}
	}
	for _, f := range settings.Moves {
		if f.Shape.IsCut() {
			return nil, &userError{What: "the settings hold a " + f.Shape.String() + ", which has no dials here", Hint: "take it out of the file, or say that the mix was bounced through it"}
		}
	}
	c, err := s.results.comparison(a)
	if err != nil {
		return nil, err
	}
	return map[string][]dialled{"moves": dialledOf(c.With(settings.Moves, a.options.Solve))}, nil
}
