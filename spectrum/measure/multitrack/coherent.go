package multitrack

import (
	"context"
	"math"

	"gonum.org/v1/gonum/floats"

	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
)

// CoherentPower returns the mean power per band of a single track as it is in a mix, in
// mono:
//
//	Re⟨T·M*⟩² / ⟨|T|²⟩
//
// with the track T and the mix M, which must start together. It is the power of the part of
// the mix that is coherent with the track, including any equaliser, level and polarity that
// the track has in the mix. A band whose coherence may be due to chance is 0. Both are read
// in step to the end of the shorter one. The error is an [*audio.Error] about trackPath, for
// another sample rate or a track that is not in the mix; ctx's; or that of a source. Source:
// J. S. Bendat and A. G. Piersol, Random Data, the coherent output spectrum (from memory).
func CoherentPower(ctx context.Context, track, mix audio.Source, trackPath string) ([]float64, error) {
	rateHz := float64(mix.Format().RateHz)
	if err := sameRate(track, mix, trackPath); err != nil {
		return nil, err
	}
	var cross, ofTrack, ofMix [spectrum.BandCount]float64
	windows := 0
	both := spectrum.NewAnalyser(rateHz, 2, func(_ int, b *spectrum.Bands) {
		windows++
		for i, c := range b.Cross {
			cross[i] += c
			ofMix[i] += b.Power[i]
		}
	})
	alone := spectrum.NewAnalyser(rateHz, 1, func(_ int, b *spectrum.Bands) {
		floats.Add(ofTrack[:], b.Power[:])
	})
	trackReader, mixReader := newReader(track, 1), newReader(mix, 1)
	for {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		n, err := trackReader.read(blockFrames)
		if err != nil {
			return nil, err
		}
		if n, err = mixReader.read(n); err != nil {
			return nil, err
		}
		if n == 0 {
			break
		}
		both.Add([][]float64{trackReader.out[0][:n], mixReader.out[0][:n]})
		alone.Add(trackReader.block(n))
	}
	power := make([]float64, spectrum.BandCount)
	total, strongest, crossAll, trackAll := 0.0, 0.0, 0.0, 0.0
	for i, p := range ofTrack {
		strongest = max(strongest, p)
		crossAll, trackAll = crossAll+math.Abs(cross[i]), trackAll+p
	}
	most := mostLifted * crossAll / max(trackAll, 1e-30)
	const reach = spectrum.BandsPerOctave / 6 // to either side: coherence is tested over a third octave
	for i := range power {
		x, t, m := 0.0, 0.0, 0.0
		for j := max(0, i-reach); j < min(len(power), i+reach+1); j++ {
			x, t, m = x+cross[j], t+ofTrack[j], m+ofMix[j]-ofTrack[j]
		}
		if t > 0 && x*x > rareCoherence(windows)*t*m && ofTrack[i] > strongest*spectrum.DBToPower(-trackRangeDB) {
			h := min(math.Abs(x)/t, most)
			power[i] = ofTrack[i] * h * h / float64(windows)
			total += power[i]
		}
	}
	if total == 0 || math.IsNaN(total) {
		return nil, &audio.Error{Kind: finding.OtherMusic, Path: trackPath,
			Problem: "is not to be found in the mix",
			Hint:    "give a single track of the same song that starts with the mix"}
	}
	return power, nil
}

// trackRangeDB is the range below its strongest band in which a track is used; anything
// weaker is leakage from other sources. Our choice.
const trackRangeDB = 50

// mostLifted bounds the gain of a band of the track in the mix, relative to the track's
// overall gain, as a factor on amplitudes. If the coherence suggests more, the track's
// microphone picked up something that the mix has from elsewhere. Our choice: 12 dB.
const mostLifted = 4

// rareCoherence returns the coherence that chance rarely reaches over that many windows: ten
// times its expected value, with windows overlapping by half worth two thirds of their
// number (Welch 1967, from memory). Our choice: at three times the expected value, one of
// two other songs tried passed as a track; at ten, neither did.
func rareCoherence(windows int) float64 { return 10 * 1.5 / float64(max(1, windows)) }
