package serve

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"strconv"

	"toneplumb/biquad/fit"
	"toneplumb/match/document"
	"toneplumb/match/job"
	"toneplumb/match/probe"
	"toneplumb/match/probe/forms"
	"toneplumb/match/words"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// getEqualiser answers with the description that the person kept, as with --keep; null if there is
// none.
func (s *Server) getEqualiser(w http.ResponseWriter, r *http.Request) {
	path, _ := job.KeptEqualiser()
	text, err := os.ReadFile(path)
	if err == nil {
		text, err = io.ReadAll(measure.Text(bytes.NewReader(text))) // a person's editor may write UTF-16
	}
	if err == nil {
		_, err = document.ParseEqualiser(text)
	}
	if err != nil {
		text = []byte("null")
	}
	writeJSON(w, http.StatusOK, map[string]json.RawMessage{"equaliser": text})
}

// keepEqualiser keeps the description in the request, for the command line too.
func (s *Server) keepEqualiser(w http.ResponseWriter, r *http.Request) error {
	text, err := readEqualiser(w, r)
	if err != nil {
		return err
	}
	return withKept(w, func(path string) error { return job.KeepEqualiser(path, text) })
}

// checkEqualiser says what is wrong with the description in the request, if anything is.
func (s *Server) checkEqualiser(w http.ResponseWriter, r *http.Request) error {
	if _, err := readEqualiser(w, r); err != nil {
		return err
	}
	w.WriteHeader(http.StatusNoContent)
	return nil
}

// readEqualiser returns the description in the request if it is one.
func readEqualiser(w http.ResponseWriter, r *http.Request) ([]byte, error) {
	text, err := io.ReadAll(http.MaxBytesReader(w, r.Body, maxRequestBytes))
	if err != nil {
		return nil, err
	}
	if _, err := document.ParseEqualiser(text); err != nil {
		return nil, wrongEqualiser(err)
	}
	return text, nil
}

// wrongEqualiser words an error of [document.ParseEqualiser].
func wrongEqualiser(err error) error {
	return &userError{Kind: finding.KindOf(err, finding.EqualiserWrong), What: "the equaliser's description: " + err.Error(), Hint: "mend the file, or go back to the default equaliser"}
}

func (s *Server) forgetEqualiser(w http.ResponseWriter, r *http.Request) error {
	return withKept(w, job.ForgetEqualiser)
}

// withKept calls do with the path of the kept description.
func withKept(w http.ResponseWriter, do func(path string) error) error {
	path, has := job.KeptEqualiser()
	if !has {
		return &userError{Kind: finding.System, What: "there is no folder of yours to keep an equaliser in", Hint: "set HOME, and start toneplumb serve again"}
	}
	if err := do(path); err != nil {
		return err
	}
	w.WriteHeader(http.StatusNoContent)
	return nil
}

// movesOf answers with the moves of a settings document, as dialled on the equaliser.
func (s *Server) movesOf(ctx context.Context, a *request) (any, error) {
	settings, err := document.ReadSettings(bytes.NewReader(a.From))
	if err != nil {
		return nil, &userError{Kind: finding.KindOf(err, finding.SettingsWrong), What: "the settings cannot be read: " + err.Error(), Hint: "give settings that were taken away here before"}
	}
	c, err := s.results.comparison(a)
	if err != nil {
		return nil, err
	}
	for _, f := range settings.Moves {
		if f.Shape.IsCut() {
			return nil, &userError{Kind: finding.SettingsWrong, What: "the settings hold a " + words.Shape(f.Shape) + ", which has no dials here", Hint: "take it out of the file, or say that the mix was bounced through it"}
		}
		if err := f.Check(c.RateHz); err != nil {
			return nil, &userError{Kind: finding.DoesNotFit, What: "the settings do not fit this mix: " + err.Error(), Hint: "take that move out of the file"}
		}
	}
	return map[string][]dialled{"moves": dialledOf(c.With(settings.Moves, a.options.Solve))}, nil
}

// probeRates are the sample rates of sessions that are offered.
var probeRates = map[int]bool{44100: true, 48000: true, 88200: true, 96000: true}

// getProbe sends the probe to play through an equaliser, as written by eqtest.
func (s *Server) getProbe(w http.ResponseWriter, r *http.Request) error {
	rateHz, _ := strconv.Atoi(r.URL.Query().Get("rate"))
	if !probeRates[rateHz] {
		return refusal(finding.WrongOption, http.StatusBadRequest, "there is no probe at that rate", "choose one of those on the page")
	}
	_, file := s.addFile(fmt.Sprintf("probe %d.wav", rateHz), "audio/wav")
	if err := writeProbe(file.path, rateHz); err != nil {
		os.Remove(file.path)
		return userErrorOf(err, file.name)
	}
	s.sendFile(w, r, file)
	return nil
}

func writeProbe(path string, rateHz int) error {
	x := probe.Probe{RateHz: rateHz}.Sound(rateHz)
	out, err := audio.CreateWAV(path, rateHz, 2, audio.PCM24)
	if err != nil {
		return err
	}
	defer out.Abort()
	if err := out.Write([][]float64{x, x}); err != nil {
		return err
	}
	return out.Close()
}

// equaliser learns an equaliser from the prints, as eqread does.
func (s *Server) equaliser(ctx context.Context, q *viewRequest, t *task) (*outcome, error) {
	if !probeRates[q.ProbeHz] {
		return nil, &userError{Kind: finding.WrongOption, What: fmt.Sprintf("there is no probe at %d Hz", q.ProbeHz), Hint: "choose the rate of the session"}
	}
	of := job.LearnRequest{Probe: probe.Probe{RateHz: q.ProbeHz}, Plan: probe.Plan(), Base: fit.Default(), Done: func() { t.done.Add(1) }}
	t.of.Store(int64(len(q.prints)))
	for _, rec := range q.prints {
		of.Prints, of.Paths = append(of.Prints, rec.name), append(of.Paths, rec.path)
	}
	e, err := job.Learn(ctx, of)
	if err != nil {
		return nil, err
	}
	d := &outcome{Headline: fmt.Sprintf("Your equaliser, %s.", e.Name()), Blocks: forms.Blocks(e.Equaliser)}
	var description bytes.Buffer
	if e.WriteDescription(&description) == nil { // fails if there is no bell and no shelf among the prints
		d.Equaliser = json.RawMessage(description.Bytes())
		d.Files = []takeAway{{Name: "my equaliser.json", Form: "Description of the equaliser (JSON)", mime: "application/json", write: func(_ context.Context, w io.Writer) error {
			_, err := w.Write(description.Bytes())
			return err
		}}}
	}
	return d, nil
}
