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

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/match/job"
	"toneplumb/match/probe"
	"toneplumb/match/report"
	"toneplumb/match/words"
	"toneplumb/spectrum/audio"
)

// probeRates are the rates that sessions have.
var probeRates = map[int]bool{44100: true, 48000: true, 88200: true, 96000: true}

// getProbe hands out the probe that is printed through an equaliser, as eqtest writes it.
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
	lies := map[string]string{}
	for _, rec := range q.prints {
		of.Prints, lies[rec.name] = append(of.Prints, rec.name), rec.path
	}
	of.Open = func(name string) (string, error) { return lies[name], nil }
	e, err := job.Learn(ctx, of)
	if err != nil {
		return nil, err
	}
	d := &outcome{Headline: fmt.Sprintf("Your equaliser, %s.", e.Name()), Blocks: learntBlocks(e)}
	var description bytes.Buffer
	if e.WriteDescription(&description) == nil { // else no bell and no shelf is among the prints
		d.Equaliser = json.RawMessage(description.Bytes())
		d.Files = []takeAway{{"my equaliser.json", "Description, for --eq (JSON)", "application/json", func(_ context.Context, w io.Writer) error {
			_, err := w.Write(description.Bytes())
			return err
		}}}
	}
	return d, nil
}

// learntBlocks say what the dials of an equaliser stand for.
func learntBlocks(e *job.Learnt) []report.Block {
	prints := report.Block{Head: []string{"print", "dialled", "is", "off by"}}
	for _, m := range e.Measured {
		asked := "everything at 0 dB"
		if !m.Flat {
			asked = words.Shape(m.Shape) + " " + words.FormatHz(m.FreqHz)
			if !m.Shape.IsCut() {
				asked += " " + words.FormatGain(m.GainDB) + " dB"
			}
			if m.Width > 0 && !m.Shape.IsCut() {
				asked += fmt.Sprintf(" width %g", m.Width)
			}
		}
		is := ""
		if !m.Flat {
			is = m.IsWords()
		}
		prints.Rows = append(prints.Rows, []string{fmt.Sprint(m.Number), asked, is, m.OffWords()})
	}
	stand := report.Block{Heading: "What the dials stand for"}
	for _, shape := range []biquad.Shape{biquad.LowShelf, biquad.Bell, biquad.HighShelf} {
		if _, learnt := e.Terms[shape]; learnt {
			stand.Items = append(stand.Items, report.Item{Lead: shape.String() + ":", Paragraphs: []string{e.TermsWords(shape)}})
		}
	}
	stand.Items = append(stand.Items, report.Item{Lead: "top:", Paragraphs: []string{e.TopWords()}})
	instead := report.Block{Heading: "What to dial instead", Head: []string{"move advised", "dial instead", "off as it is, dB", "then, dB"}}
	for _, c := range e.Corrections() {
		shown := c.Dial
		shown.FreqHz = c.FreqHz
		instead.Rows = append(instead.Rows, []string{c.Advised.Shape.String() + " " + probe.FilterWords(c.Advised), probe.FilterWords(shown),
			fmt.Sprintf("%.2f", c.OffDB), fmt.Sprintf("%.2f", c.LeftDB)})
	}
	return report.Filled(prints, stand, report.Paragraphs(report.WatchOut, e.Warnings()...), instead)
}
