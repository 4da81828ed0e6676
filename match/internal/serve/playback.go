package serve

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"strconv"

	"toneplumb/match"
	"toneplumb/match/job"
	"toneplumb/match/listen"
	"toneplumb/match/page"
	"toneplumb/match/report"
	"toneplumb/match/words"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/audio/flac"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// playerAnswer is the input of the player, with sounds by address relative to the page.
type playerAnswer struct {
	Player *page.Player `json:"player"` // null: nothing to play, for the reason in the notes
	Notes  []string     `json:"notes"`
}

// player answers with the player's input for the moves, computed from the tables.
func (s *Server) player(ctx context.Context, a *request) (any, error) {
	asked, err := s.results.find(ctx, a)
	if err != nil {
		return nil, err
	}
	stretch, ok := page.StretchOf(asked.Result, a.options.Previous)
	d := playerAnswer{Notes: append([]string{}, stretch.Notes...)}
	if !ok {
		return d, nil
	}
	stretch.MixFromSec = startOf(a.HearMixSec, stretch.MixFromSec, asked.Mix)
	if w := stretch.Which; w >= 0 {
		stretch.RefFromSec = startOf(a.HearRefSec, stretch.RefFromSec, asked.References[w])
	}
	if w := stretch.Which; w >= 0 && a.recordingOf(asked.References[w]) == nil {
		stretch.Which = -1
	}
	if stretch.Undo != nil {
		// Its peaks are not in the table, so its stored level is unknown.
		d.Notes = []string{"There is no player here for a bounce through earlier moves: they must be taken back from its sound first. A saved page has one."}
		return d, nil
	}
	if d.Player, err = page.Predicted(asked.Result, stretch); err != nil {
		return nil, err
	}
	if d.Player == nil {
		d.Notes = append(d.Notes, words.NothingToHear)
		return d, nil
	}
	sounds := map[string]string{"mix": soundAddress(a.mix.id, stretch.MixFromSec, float64(d.Player.Seconds))}
	if stretch.Which >= 0 {
		ref := a.recordingOf(asked.References[stretch.Which])
		sounds["reference"] = soundAddress(ref.id, stretch.RefFromSec, float64(d.Player.Seconds))
		if len(asked.References) > 1 {
			d.Notes = append(d.Notes, words.HeardOf(ref.name))
		}
	}
	for i, source := range d.Player.Sources {
		d.Player.Sources[i].Sound = sounds[source.Sound]
	}
	d.Notes = append(d.Notes, "Levels are predicted from the measured tables, within a tenth of a LU.")
	return d, nil
}

// leastHeardSec is the shortest excerpt from a chosen start. Our choice: less is no music.
const leastHeardSec = 5

// startOf returns where an excerpt starts in seconds: as chosen, or else the loudest place.
func startOf(chosen *float64, loudest float64, of *measure.Recording) float64 {
	if chosen == nil {
		return loudest
	}
	return max(0, min(*chosen, of.DurationSec-leastHeardSec))
}

func soundAddress(id string, fromSec, sec float64) string {
	return fmt.Sprintf("sounds/%s?from=%s&sec=%s", id, strconv.FormatFloat(fromSec, 'f', 3, 64), strconv.FormatFloat(sec, 'f', 1, 64))
}

// recordingOf returns the recording whose table is r or shares its peaks; nil if there is none.
func (a *request) recordingOf(r *measure.Recording) *recording {
	for _, rec := range append([]*recording{a.mix}, a.references...) {
		if rec.input.IsProfile || r.StepPeak == nil {
			continue
		}
		if own := rec.input.Entries[0].Recording.StepPeak; len(own) > 0 && &own[0] == &r.StepPeak[0] {
			return rec
		}
	}
	return nil
}

// excerpt answers with a stretch of a recording as FLAC.
func (s *Server) excerpt(w http.ResponseWriter, r *http.Request, rec *recording) error {
	if rec.now() != ready {
		return refusal(finding.NotMeasured, http.StatusConflict, fmt.Sprintf("%q is not measured", rec.name), "wait until it is")
	}
	from, err1 := strconv.ParseFloat(r.URL.Query().Get("from"), 64)
	sec, err2 := strconv.ParseFloat(r.URL.Query().Get("sec"), 64)
	if err1 != nil || err2 != nil || !(from >= 0 && from < 1e7) || !(sec > 0 && sec <= page.ExcerptSec) || rec.input.IsProfile {
		return refusal(finding.PageOutOfDate, http.StatusBadRequest, "there is no such stretch of "+rec.name, "reload the page")
	}
	var file bytes.Buffer
	err := s.quick.do(r.Context(), func() error {
		e, err := rec.cut(r.Context(), from, sec)
		if err != nil {
			return err
		}
		return flac.Write(&file, e.RateHz, e.X, 1)
	})
	if err != nil {
		return userErrorOf(err, rec.name)
	}
	w.Header().Set("Content-Type", "audio/flac")
	w.Write(file.Bytes()) // an error means that the browser is gone
	return nil
}

func (rec *recording) cut(ctx context.Context, fromSec, sec float64) (*listen.Excerpt, error) {
	src, err := audio.Open(ctx, rec.path)
	if err != nil {
		return nil, err
	}
	defer src.Close()
	e, err := listen.Cut(ctx, src, fromSec, sec)
	if err == io.EOF {
		return nil, &userError{Kind: finding.PageOutOfDate, What: fmt.Sprintf("%q ends before that", rec.name), Hint: "reload the page"}
	}
	return e, err
}

// confirm reads the mix again, through the moves, measures it, and answers with the result, whose
// trim its peaks may have lowered. It does not note the comparison: by now the list may have a newer
// request for it, or none.
func (s *Server) confirm(ctx context.Context, a *request) (any, error) {
	asked, err := s.results.find(ctx, a)
	if err == nil {
		err = a.hasSound()
	}
	if err == nil && asked.Confirmed == nil {
		var measured match.Confirmed
		key := a.confirmKey(asked.Result) // before the trim is lowered
		if measured, err = a.mix.reader().Confirm(ctx, a.mix.name, asked.Result); err == nil {
			s.results.confirmed.put(key, measured)
		}
	}
	if err != nil {
		return nil, userErrorOf(err, a.mix.name)
	}
	d, _, err := s.answer(ctx, a)
	if err != nil {
		return nil, err
	}
	d.Comparison = s.history.idOf(a)
	return d, nil
}

// confirmedAnswer is what was measured on the mix through the moves.
type confirmedAnswer struct {
	BeforeLUFS report.Number `json:"loudness_before_lufs"`
	AfterLUFS  report.Number `json:"loudness_after_lufs"`
	TruePeak   report.Number `json:"true_peak_after_dbtp"`
}

func confirmedOf(c *match.Confirmed) *confirmedAnswer {
	return &confirmedAnswer{report.Number(c.LoudnessBeforeLUFS), report.Number(c.LoudnessAfterLUFS), report.Number(c.TruePeakDBTP)}
}

// reader reads the recording's sound again, whatever path it is asked for.
func (rec *recording) reader() job.Reader {
	return job.Reader{Open: func(ctx context.Context, _ string) (audio.Source, error) { return rec.keeper.Open(ctx, rec.path) }}
}

// hasSound returns an error if the mix cannot be sent through the moves.
func (a *request) hasSound() error {
	switch {
	case a.mix.input.IsProfile:
		return &userError{Kind: finding.IsProfile, What: "the mix is a profile, which holds no sound", Hint: "drop the mix itself"}
	case a.options.Previous != nil:
		return &userError{Kind: finding.DoesNotFit, What: "this bounce runs through earlier moves, which the moves here replace", Hint: "dial the moves, bounce again, and drop that bounce"}
	}
	return nil
}
