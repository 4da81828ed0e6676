package multitrack

import (
	"context"
	"math"

	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
)

// CoherentPower returns the mean power per band of a single track as it sits in a mix, in mono:
//
//	Re⟨T·M*⟩² / ⟨|T|²⟩
//
// of the track T and the mix M, which start together: what of the mix runs as the track
// does, with whatever equaliser, level and polarity it has there. A band in which no more of the
// mix does than chance would have it is 0. It reads both in step to the end of the
// shorter one. It refuses, with an *audio.Error about trackPath, another sample rate and
// a track that is not in the mix. Source: J. S. Bendat and A. G. Piersol, Random Data,
// the coherent output spectrum (from memory).
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
		for i, p := range b.Power {
			ofTrack[i] += p
		}
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
	const reach = spectrum.BandsPerOctave / 6 // a third octave is looked at
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
		return nil, &audio.Error{Path: trackPath,
			Problem: "is not to be found in the mix",
			Hint:    "give a single track of the same song that starts with the mix"}
	}
	return power, nil
}

// trackRangeDB under its strongest band a track is its own leaks. Our choice.
const trackRangeDB = 50

// mostLifted is by how much more than on the whole a band of the track may stand in the
// mix, as amplitude: beyond it the track's microphone heard what the mix has from
// elsewhere. Our choice: 12 dB.
const mostLifted = 4

// rareCoherence is the coherence that chance hardly reaches over so many windows: ten
// times what it has by itself, half overlapped windows being worth two thirds of their
// number (Welch 1967, from memory). Our choice: at three times one of two other songs tried
// passed for a track, at ten neither.
func rareCoherence(windows int) float64 { return 10 * 1.5 / float64(max(1, windows)) }
