// Package masking estimates how audible a change of a spectrum is, in three figures: the
// change in dB weighted by loudness, the largest change of the ear's excitation, and the
// level of the difference above the masked threshold. See [Audible].
//
// Spreading and masked threshold are those of ISO/IEC 11172-3:1993, Annex D,
// psychoacoustic model 1. Every critical band is taken as a noise masker, since the input
// is the mean spectrum of some seconds of music. All formulas are from memory;
// masking_test.go checks them by their properties.
//
// Limits: no temporal masking (before or after a sound), one ear only, and a fixed
// listening level, [ListeningDBSPL].
package masking

import (
	"math"

	"gonum.org/v1/gonum/floats"

	"toneplumb/spectrum"
)

// ListeningDBSPL is the assumed listening level in dB SPL, summed over the spectrum. Our
// choice: a modest setting, below the 80 dB(A) of ITU-T H.870.
const ListeningDBSPL = 75

// barks is the number of critical bands, 1 Bark wide each.
const barks = 24

// Bark returns the critical-band rate of a frequency in Bark. Source: E. Zwicker and E. Terhardt,
// J. Acoust. Soc. Am. 68 (1980), 1523–1525, as quoted by T. Painter and A. Spanias, Proc. IEEE 88 (2000),
// 451–515, formula 3 (from memory).
func Bark(hz float64) float64 {
	return 13*math.Atan(0.00076*hz) + 3.5*math.Atan(hz/7500*hz/7500)
}

// QuietDBSPL returns the threshold in quiet at a frequency in dB SPL. Source: E. Terhardt,
// Hearing Research 1 (1979), 155–182, as quoted by Painter and Spanias, formula 2 (from
// memory).
func QuietDBSPL(hz float64) float64 {
	k := hz / 1000
	return 3.64*math.Pow(k, -0.8) - 6.5*math.Exp(-0.6*(k-3.3)*(k-3.3)) + 1e-3*k*k*k*k
}

// noiseIndexDB returns the masking index av_nm of Annex D for a noise masker at z Bark: the
// masked threshold relative to the masker's level, before spreading.
func noiseIndexDB(z float64) float64 { return -1.525 - 0.175*z - 0.5 }

// spreadDB returns the masking function vf of Annex D: the effect, dz Bark above it, of a
// masker of levelDB, relative to its effect at its own place. It is −Inf below −3 Bark and
// from 8 Bark on.
func spreadDB(dz, levelDB float64) float64 {
	switch {
	case dz < -3 || dz >= 8:
		return math.Inf(-1)
	case dz < -1:
		return 17*(dz+1) - (0.4*levelDB + 6)
	case dz < 0:
		return (0.4*levelDB + 6) * dz
	case dz < 1:
		return -17 * dz
	}
	return -(dz-1)*(17-0.15*levelDB) - 17
}

// Spectrum is the mean spectrum of an excerpt with its masking, see [New].
type Spectrum struct {
	power     []float64      // per band of package spectrum; their sum is at ListeningDBSPL
	bark      []int          // of each band
	level     [barks]float64 // power in each critical band
	quiet     [barks]float64 // threshold in quiet, as a power
	threshold [barks]float64 // power that is just masked in a critical band
	excited   [barks]float64 // excitation
	weight    [barks]float64 // specific loudness
}

// New takes the mean power of a sound in each band of package spectrum, at any level; it
// is scaled to [ListeningDBSPL]. In silence no change is audible.
func New(power []float64) *Spectrum {
	s := &Spectrum{power: make([]float64, len(power)), bark: make([]int, len(power))}
	total := floats.Sum(power)
	if total == 0 {
		total = 1
	}
	for z := range s.quiet {
		s.quiet[z] = math.Inf(1)
	}
	for b, p := range power {
		hz := spectrum.CentreHz(b)
		z := min(barks-1, int(Bark(hz)))
		s.bark[b], s.power[b] = z, p/total*spectrum.DBToPower(ListeningDBSPL)
		s.level[z] += s.power[b]
		s.quiet[z] = math.Min(s.quiet[z], spectrum.DBToPower(QuietDBSPL(hz)))
	}
	s.threshold, s.excited = s.spread(s.level, noiseIndexDB), s.spread(s.level, func(float64) float64 { return 0 })
	for z := range s.level {
		s.weight[z] = specificLoudness(s.level[z], s.quiet[z])
	}
	return s
}

// spread returns, for each critical band, the power that all bands spread into it plus the
// threshold in quiet. index returns the dB added to a masker at z Bark.
func (s *Spectrum) spread(level [barks]float64, index func(z float64) float64) [barks]float64 {
	out := s.quiet
	for from, p := range level {
		if p == 0 {
			continue
		}
		db := spectrum.PowerToDB(p)
		for z := max(0, from-3); z < min(barks, from+8); z++ {
			out[z] += spectrum.DBToPower(db + index(float64(from)+0.5) + spreadDB(float64(z-from), db))
		}
	}
	return out
}

// specificLoudness returns the loudness of a critical band in sone per Bark, up to a factor
// common to all bands. Source: E. Zwicker and H. Fastl, Psychoacoustics, formula 8.7 (from
// memory).
func specificLoudness(power, quiet float64) float64 {
	return math.Pow(quiet, 0.23) * math.Max(0, math.Pow(0.5+0.5*power/quiet, 0.23)-1)
}

// Audible says how audible a change is.
type Audible struct {
	// ChangeDB is the rms of the change, each critical band weighted by its loudness.
	ChangeDB float64

	// ExcitationDB is the largest change of excitation in any critical band, without sign.
	// About 1 dB is just heard. Source: E. Zwicker and H. Fastl, Psychoacoustics, section
	// 7.5.1, after G. Maiwald, Acustica 18 (1967), 193–207 (from memory).
	ExcitationDB float64

	// OverDB is the level of the difference above the masked threshold, in the critical
	// band where that is largest; -Inf without a difference. The threshold applies to
	// noise that is unrelated to the sound, such as a codec's. The difference that a filter
	// makes follows the sound and is heard from about 15 dB below it.
	OverDB float64
}

// Change returns how audible a change of the spectrum is. factor is the ratio of powers,
// after over before, in each band, including the gain that makes both equally loud. The
// difference is taken between amplitudes, |h|−1, since nobody listens for the phase of an
// equaliser (our choice).
func (s *Spectrum) Change(factor []float64) Audible {
	var difference, after [barks]float64
	for b, p := range s.power {
		d := math.Sqrt(factor[b]) - 1
		difference[s.bark[b]] += p * d * d
		after[s.bark[b]] += p * factor[b]
	}
	excited := s.spread(after, func(float64) float64 { return 0 })
	a := Audible{ChangeDB: s.ChangeDB(factor), OverDB: math.Inf(-1)}
	for z, d := range difference {
		a.OverDB = math.Max(a.OverDB, spectrum.PowerToDB(d/s.threshold[z]))
		a.ExcitationDB = math.Max(a.ExcitationDB, math.Abs(spectrum.PowerToDB(excited[z]/s.excited[z])))
	}
	return a
}

// ChangeDB returns the ChangeDB of [Spectrum.Change] alone, in less time.
func (s *Spectrum) ChangeDB(factor []float64) float64 {
	var after [barks]float64
	for b, p := range s.power {
		after[s.bark[b]] += p * factor[b]
	}
	sum, weight := 0.0, 0.0
	for z, before := range s.level {
		if before > 0 {
			c := spectrum.PowerToDB(after[z] / before)
			sum += s.weight[z] * c * c
			weight += s.weight[z]
		}
	}
	if weight == 0 {
		return 0
	}
	return math.Sqrt(sum / weight)
}
