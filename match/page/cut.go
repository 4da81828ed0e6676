package page

import (
	"context"
	"fmt"
	"io"
	"math"
	"slices"

	"toneplumb/match"
	"toneplumb/match/document"
	"toneplumb/match/listen"
	"toneplumb/match/words"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// Stretch is the part of the mix and of a reference that is played.
type Stretch struct {
	MixFromSec float64
	Which      int // index of the reference; −1: none has sound
	RefFromSec float64
	Undo       *document.Settings // settings the mix is sent through first; nil: none
	Notes      []string           // remarks about the sound, or why there is none
}

// storedRateHz is the largest sample rate of a FLAC file (RFC 9639, section 8.2).
const storedRateHz = 655350

// WithoutReference is the reason why a saved page does not play the reference.
const WithoutReference = "The reference's sound is not in this page, since it is its makers' work."

// StretchOf chooses the loudest half minute of the mix and of the first reference that has sound; if
// that is a copy of the mix's song, the same half minute. Earlier moves are undone. It is not ok if
// there is nothing to play; the notes say why.
func StretchOf(r *match.Result, before *match.PreviousRound) (s Stretch, ok bool) {
	s.Which = -1
	s.Undo, ok = before.Inverse()
	why := ""
	switch {
	case r.Mix.StepPower == nil:
		why = "The mix is a profile, which holds no sound: there is nothing to play."
	case r.Mix.Format.RateHz > storedRateHz:
		why = "There is nothing to play: the mix's sample rate is beyond what FLAC holds."
	case !ok:
		why = "There is nothing to play: the mix was bounced through a cut, and sound cannot be taken back through that."
	}
	if why != "" {
		s.Notes = append(s.Notes, why)
		return s, false
	}
	s.MixFromSec = listen.Loudest(r.Mix, ExcerptSec)
	if before != nil {
		s.Notes = append(s.Notes, "The mix is heard without the moves it was bounced through.")
	}
	s.Which = slices.IndexFunc(r.References, func(ref *measure.Recording) bool {
		return ref.StepPower != nil && ref.Format.RateHz <= storedRateHz
	})
	if s.Which < 0 {
		s.Notes = append(s.Notes, "The reference is not heard: it is a profile, which holds no sound, or its sample rate is beyond what FLAC holds.")
		return s, true
	}
	ref := r.References[s.Which]
	s.RefFromSec = listen.Loudest(ref, ExcerptSec)
	const asLongSec = 1 // largest difference in length between two masters of one song; our choice
	if r.SameSong[s.Which] && math.Abs(ref.DurationSec-r.Mix.DurationSec) <= asLongSec {
		s.RefFromSec = max(0, min(s.MixFromSec, ref.DurationSec-min(ExcerptSec, r.Mix.DurationSec-s.MixFromSec)))
	}
	return s, true
}

// Cut cuts the sound of a saved page from the recordings; open opens one of them. If without is not
// "", it is the reason why the reference's sound is left out. Errors are those of opening and
// decoding, and ctx's.
func Cut(ctx context.Context, open func(*measure.Recording) (audio.Source, error), r *match.Result, before *match.PreviousRound, without string) (*Sound, error) {
	stretch, ok := StretchOf(r, before)
	s := &Sound{Notes: stretch.Notes, Which: stretch.Which}
	if !ok {
		return s, nil
	}
	cut := func(of *measure.Recording, through *document.Settings, fromSec float64) (*listen.Excerpt, error) {
		src, err := open(of)
		if err != nil {
			return nil, err
		}
		defer src.Close()
		if through != nil {
			if src, err = listen.Through(src, through); err != nil {
				return nil, err
			}
		}
		e, err := listen.Cut(ctx, src, fromSec, ExcerptSec)
		if err == io.EOF {
			return nil, &audio.Error{Kind: finding.ChangedMeanwhile, Path: of.Path, Problem: "was changed while it was read", Hint: "run it again"}
		}
		return e, err
	}
	var err error
	if s.Mix, err = cut(r.Mix, stretch.Undo, stretch.MixFromSec); err != nil {
		return nil, err
	}
	switch {
	case s.Which < 0:
		return s, nil
	case without != "":
		s.Notes = append(s.Notes, without)
		return s, nil
	}
	ref := r.References[s.Which]
	if s.Reference, err = cut(ref, nil, stretch.RefFromSec); err != nil {
		return nil, err
	}
	if len(r.References) > 1 {
		s.Notes = append(s.Notes, words.HeardOf(ref.Name))
	}
	s.Notes = append(s.Notes, fmt.Sprintf("%.0f s of the reference's sound are in this page. That recording is its makers' work: before you pass the page on, see whether you may.", min(s.Mix.Sec(), s.Reference.Sec())))
	return s, nil
}
