package serve

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strconv"

	"toneplumb/biquad/fit"
	"toneplumb/match/job"
	"toneplumb/match/probe"
	"toneplumb/match/probe/forms"
	"toneplumb/spectrum/audio"
)

// probeRates are the sample rates of sessions that are offered.
var probeRates = map[int]bool{44100: true, 48000: true, 88200: true, 96000: true}

// getProbe sends the probe to play through an equaliser, as written by eqtest.
func (s *Server) getProbe(w http.ResponseWriter, r *http.Request) {
	rateHz, _ := strconv.Atoi(r.URL.Query().Get("rate"))
	if !probeRates[rateHz] {
		refuse(w, http.StatusBadRequest, "there is no probe at that rate", "choose one of those on the page")
		return
	}
	_, file := s.files.add(fmt.Sprintf("probe %d.wav", rateHz), "audio/wav")
	if err := writeProbe(file.path, rateHz); err != nil {
		os.Remove(file.path)
		writeJSON(w, http.StatusUnprocessableEntity, userErrorOf(err, file.name))
		return
	}
	s.hand(w, r, file)
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
		return nil, &userError{What: fmt.Sprintf("there is no probe at %d Hz", q.ProbeHz), Hint: "choose the rate of the session"}
	}
	of := job.LearnRequest{Probe: probe.Probe{RateHz: q.ProbeHz}, Plan: probe.Plan(), Base: fit.Default(), Done: func() { t.done.Add(1) }}
	t.of.Store(int64(len(q.prints)))
	paths := map[string]string{}
	for _, rec := range q.prints {
		name := filepath.Join(rec.id, rec.name) // two may have one name
		of.Prints, paths[name] = append(of.Prints, name), rec.path
	}
	of.Open = func(name string) (string, error) { return paths[name], nil }
	e, err := job.Learn(ctx, of)
	if err != nil {
		return nil, err
	}
	d := &outcome{Headline: fmt.Sprintf("Your equaliser, %s.", e.Name()), Blocks: forms.Blocks(e.Equaliser)}
	var description bytes.Buffer
	if e.WriteDescription(&description) == nil { // fails if there is no bell and no shelf among the prints
		d.Equaliser = json.RawMessage(description.Bytes())
		d.Files = []takeAway{{"my equaliser.json", "Description of the equaliser (JSON)", "application/json", func(_ context.Context, w io.Writer) error {
			_, err := w.Write(description.Bytes())
			return err
		}}}
	}
	return d, nil
}
