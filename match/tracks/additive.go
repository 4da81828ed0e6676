package tracks

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"toneplumb/spectrum"
	"toneplumb/spectrum/measure/multitrack"
)

// additive measures how far the mix is the plain sum of the tracks. Only in a plain sum is the
// effect of a fader known: a compressor reacts to it, and sound that no track holds stays.
type additive struct {
	restShare float64 // share of the mix's loudness that no equaliser on the tracks' sum explains
	restHz    float64 // where most of that is
	movesDB   float64 // standard deviation of the mix's level against the tracks' sum
}

const (
	// reportedRestShare is the share of the mix from which it is reported. Our choice: 0.13 dB of its power.
	reportedRestShare = 0.03
	// firmRestShare and firmMovesDB are the largest values at which gains are exact and not hints.
	// Measured on songs: plain sums leave 0.000 and move by 0.0 dB; testdata/faders.md compares
	// them with the cases behind a compressor and a reverb.
	firmRestShare = 0.1
	firmMovesDB   = 0.3
)

// firm reports whether the mix is close enough to the sum of the tracks for gains to be exact.
func (a additive) firm() bool { return a.restShare <= firmRestShare && a.movesDB <= firmMovesDB }

// additive measures it once. Without sketches only movesDB is measured.
func (s *session) additive() additive {
	if s.sum == nil {
		a := s.measureAdditive()
		s.sum = &a
	}
	return *s.sum
}

func (s *session) measureAdditive() (a additive) {
	var parts []*spectrum.Sketch
	var gains []float64
	for _, t := range s.heard() {
		if t.Sketch != nil {
			parts, gains = append(parts, t.Sketch), append(gains, t.gain)
		}
	}
	if s.MixSketch != nil && len(parts) > 0 {
		most, rest, all := 0.0, 0.0, 0.0
		for third, share := range spectrum.Unexplained(s.MixSketch, parts, gains) {
			if !s.isJudged(third) {
				continue
			}
			mix := s.k[midBand(third)] * s.meanMix(third)
			rest, all = rest+share*mix, all+mix
			if share*mix > most {
				most, a.restHz = share*mix, thirdHz(third)
			}
		}
		a.restShare = rest / max(all, tiny)
	}
	a.movesDB = s.levelMovesDB()
	return a
}

// levelMovesDB returns the standard deviation in dB of the mix's level, second by second, against
// that of the tracks' sum through the equaliser that fits all seconds best: one on the sum does not
// make the level move.
func (s *session) levelMovesDB() float64 {
	mix, ofTracks := s.throughEqualiser((*track).shared)
	var levels []float64
	for row := range mix {
		if m, t := floats.Sum(mix[row][:]), floats.Sum(ofTracks[row][:]); m > 0 && t > 0 {
			levels = append(levels, 2*spectrum.PowerToDB(m/t)) // in dB of amplitude
		}
	}
	return deviation(levels, true)
}

// leftByEqualiser returns the share of the mix's loudness, second by second and third octave by third
// octave, that the tracks' sum through the equaliser that fits all seconds best is off by.
func (s *session) leftByEqualiser(cell cellOf) float64 {
	mix, ofTracks := s.throughEqualiser(cell)
	left, all := 0.0, 0.0
	for row := range mix {
		for third, m := range mix[row] {
			left, all = left+math.Abs(m-ofTracks[row][third]), all+m
		}
	}
	return left / max(all, tiny)
}

// cellOf returns Re(T·M*) of a track in a second and third octave.
type cellOf func(t *track, second, third int) float64

// throughEqualiser returns, for each second that counts, the K-weighted power per third octave of the mix
// and of the tracks' sum through the equaliser that fits all seconds best; 0 where none can.
func (s *session) throughEqualiser(cell cellOf) (mix, ofTracks [][multitrack.Thirds]float64) {
	heard, gain := s.heard(), s.equaliserOnSum(cell)
	mix, ofTracks = make([][multitrack.Thirds]float64, len(s.seconds)), make([][multitrack.Thirds]float64, len(s.seconds))
	for third, h := range gain {
		if h == 0 {
			continue
		}
		k := s.k[midBand(third)]
		for i, row := range s.seconds {
			for _, t := range heard {
				ofTracks[i][third] += k * h * cell(t, row, third)
			}
			mix[i][third] = k * float64(s.RowMix[row*multitrack.Thirds+third])
		}
	}
	return mix, ofTracks
}

// equaliserOnSum returns the gain h of the equaliser that makes the tracks' sum the mix, as a factor
// per third octave, |M|² = h·ΣRe(T·M*); 0 where none can.
func (s *session) equaliserOnSum(cell cellOf) (h [multitrack.Thirds]float64) {
	heard := s.heard()
	for third := range h {
		mix, sum := 0.0, 0.0
		for _, row := range s.seconds {
			for _, t := range heard {
				sum += cell(t, row, third)
			}
			mix += float64(s.RowMix[row*multitrack.Thirds+third])
		}
		if sum > 0 {
			h[third] = mix / sum
		}
	}
	return h
}

// An equaliser or a fader on the master makes the tracks' sum the mix, third octave by third octave. It is
// known from the tracks, and each track stands in the mix behind it: g·h(f)·T.

const (
	// Tracks at their own gains through one equaliser are taken for the mix if they leave less than ownLeft of its
	// loudness, or ownBetter of what they leave at gains estimated one by one: a filter on the master makes a
	// track whose sound is in one place seem louder or softer. Measured on songs: behind a filter they leave 0.004 to
	// 0.009, and 0.033 to 0.078 at estimated gains; plain sums 1e-6; behind a compressor 0.06 to 0.17. Our choice.
	ownLeft, ownBetter = 0.003, 0.5
	// A fader on the master counts from faderDB on, an equaliser from equaliserDB on between its lowest and highest gain. Our
	// choice. Measured on songs: plain sums seem to have 0.5 dB at most, as a track is a sample late.
	faderDB, equaliserDB = 0.1, 1.0
	// reportedOnMasterDB is how much an equaliser must change to be reported. Our choice. Measured on songs: plain sums
	// 0.5 dB at most, a room 2.2 (one 4), bells of 4 to 6 dB 3.9 to 5.4.
	reportedOnMasterDB = 2.5
	// heardShare is the share of the mix's loudness from which a third octave says what is on the master. Our choice.
	heardShare = 0.005
)

// throughMaster gives all tracks the gain of a fader on the master, and the session the equaliser there, if
// the tracks at their own gains explain the mix through these.
func (s *session) throughMaster() {
	own := func(t *track, second, third int) float64 {
		return math.Copysign(1, t.gain) * float64(t.RowRe[second*multitrack.Thirds+third])
	}
	if slices.ContainsFunc(s.heard(), s.isTheMix) { // it would be half of the sum
		return
	}
	if left := s.leftByEqualiser(own); left >= ownLeft && left >= ownBetter*s.leftByEqualiser((*track).shared) {
		return
	}
	h := s.equaliserOnSum(own)
	mix, _ := s.throughEqualiser(own)
	var power [multitrack.Thirds]float64
	for row := range mix {
		floats.Add(power[:], mix[row][:])
	}
	var db []float64
	for third, gain := range h {
		if gain > 0 && power[third] > heardShare*floats.Sum(power[:]) {
			db = append(db, 2*spectrum.PowerToDB(gain)) // |M| = h·|ΣT|
		} else {
			h[third] = 0
		}
	}
	if len(db) == 0 {
		return
	}
	slices.Sort(db)
	level := closestHalf(db)
	for _, t := range s.heard() {
		t.gain = math.Copysign(1, t.gain)
		if math.Abs(level) > faderDB {
			t.gain *= spectrum.DBToAmp(level)
		}
	}
	if db[len(db)-1]-db[0] <= equaliserDB {
		return
	}
	s.master = make([]float64, multitrack.Thirds)
	for third, gain := range h {
		s.master[third] = 1
		if gain > 0 {
			s.master[third] = gain / spectrum.DBToAmp(level)
		}
	}
	for _, t := range s.tracks {
		t.master = s.master
	}
}

// closestHalf returns the mean of that half of ascending values which lie closest together: the level
// of what a bell leaves alone.
func closestHalf(x []float64) float64 {
	n, best := len(x)/2+1, 0
	for i := range len(x) - n + 1 {
		if x[i+n-1]-x[i] < x[best+n-1]-x[best] {
			best = i
		}
	}
	return stat.Mean(x[best:best+n], nil)
}

// onMaster returns what an equaliser on the tracks' sum changes most, in dB; 0 if there is none.
func (s *session) onMaster() (db, hz float64) {
	for third, h := range s.master {
		if x := 2 * spectrum.PowerToDB(h); math.Abs(x) > math.Abs(db) {
			db, hz = x, spectrum.CentreHz(midBand(third))
		}
	}
	return db, hz
}

// gainAt returns a track's gain in the mix in a third octave, as a factor on amplitudes.
func (t *track) gainAt(third int) float64 {
	if t.master == nil {
		return t.gain
	}
	return t.gain * t.master[third]
}

// gainInBand returns it in a band, interpolated in dB between the middles of third octaves.
func (t *track) gainInBand(band int) float64 {
	if t.master == nil {
		return t.gain
	}
	at := float64(band) * 3 / spectrum.BandsPerOctave
	below := min(int(at), multitrack.Thirds-2)
	part := at - float64(below)
	return t.gain * math.Pow(t.master[below], 1-part) * math.Pow(t.master[below+1], part)
}
