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
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// Stretch says which stretch of which recordings is heard.
type Stretch struct {
	MixFromSec float64
	Which      int // of the references; −1: none has sound
	RefFromSec float64
	Undo       *document.Settings // what the mix is sent through first; nil: nothing
	Notes      []string           // what to know about the sound, or why there is none
}

// storedRateHz is the largest sample rate that audio.WriteFLAC takes (RFC 9639, section 8.2).
const storedRateHz = 655350

// WithoutReference is why the reference is not heard in a page that is kept.
const WithoutReference = "The reference’s sound is not in this page, since it is its makers’ work."

// StretchOf chooses the loudest half minute of the mix, and of the first reference that
// has sound; of a copy of the mix's song the same one. Earlier moves are taken back. Not
// ok: there is nothing to hear, and the notes say why.
func StretchOf(r *match.Result, before *match.PreviousRound) (s Stretch, ok bool) {
	s.Which = -1
	if r.Mix.StepPower == nil {
		s.Notes = append(s.Notes, "The mix is a profile, which holds no sound: there is nothing to play.")
		return s, false
	}
	if r.Mix.Format.RateHz > storedRateHz {
		s.Notes = append(s.Notes, "There is nothing to play: the mix’s sample rate is beyond what FLAC holds.")
		return s, false
	}
	if s.Undo, ok = before.Inverse(); !ok {
		s.Notes = append(s.Notes, "There is nothing to play: the mix was bounced through a cut, and sound cannot be taken back through that.")
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
	const asLongSec = 1 // two masters of one song; our choice
	if r.SameSong[s.Which] && math.Abs(ref.DurationSec-r.Mix.DurationSec) <= asLongSec {
		s.RefFromSec = max(0, min(s.MixFromSec, ref.DurationSec-min(ExcerptSec, r.Mix.DurationSec-s.MixFromSec)))
	}
	return s, true
}

// Cut cuts from the recordings what a saved page plays; open opens one of them. Words in
// without say why the reference's sound is left out; "" puts it in.
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
			return nil, &audio.Error{Path: of.Path, Problem: "was changed while it was read", Hint: "run it again"}
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
		s.Notes = append(s.Notes, fmt.Sprintf("Of the references %s is heard.", ref.Name))
	}
	s.Notes = append(s.Notes, fmt.Sprintf("%.0f s of the reference’s sound are in this page. That recording is its makers’ work: before you pass the page on, see whether you may.", min(s.Mix.Sec(), s.Reference.Sec())))
	return s, nil
}
