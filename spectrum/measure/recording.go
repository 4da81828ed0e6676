// Package measure reads a recording once and keeps a small table from which everything
// else is computed; the sound is not kept.
//
// Most callers open a recording with audio.Open, call [Measure], and pass
// [Recording.GateWeights] to [Recording.MeanPower]. The table of an hour takes about 7 MB.
//
// Limits: of more than two channels only the front pair is measured, with a warning.
//
// It builds on spectrum, spectrum/audio and spectrum/loudness; match works from its tables.
package measure

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"

	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/loudness"
)

// Recording is the table of one recording. It is never changed once measured, so
// goroutines may share it.
type Recording struct {
	Path   string       // as the caller gave it: to read it again, and for errors
	Name   string       // in anything that is written, see NameOf
	Format audio.Format // of the file; Channels counts all of them

	DurationSec float64 // of the decoded sound
	RowSec      int     // seconds per row of Power and Width: 1 as measured, up to BlockSec in a profile
	Rows        int     // number of rows; the last may have few windows

	// Power holds the mean power P_L + P_R, full scale ±1, and Width the ratio of mid to
	// side, of row r and band b at [r·spectrum.BandCount + b]. The error of single precision
	// (1e-7) is far below that of any decoder.
	Power []float32
	Width []Width

	// OctavePower holds P_L + P_R of window w (spectrum.WindowsPerSecond per second) and
	// octave o, bands 24·o to 24·o+23, at [w·Octaves + o]. It shows how a song develops over
	// time. A profile has none.
	OctavePower []float32

	StepPower []float64 // K-weighted power per 100 ms, see loudness.Meter.Steps; a profile has none
	StepPeak  []float64 // largest absolute sample per 100 ms; a profile has none

	// Counted are the passages that are counted, see Part; nil if all are.
	Counted Passages

	LoudnessLUFS float64        // integrated, of the counted passages; finite
	CutoffHz     float64        // where a steep low-pass, such as a lossy encoder's, ends the spectrum; 0 if there is none
	Warnings     []audio.Remark // of the decoder, and about channels left out

	Programme // figures of the whole recording, regardless of Counted

	read   *Recording                      // what went Through a filter to give this; nil if it is as it was read
	halved func(mid, side float64) float64 // of a Mid or Side: which of them; else nil

	// Gate is, in a profile, the share of each row that passes the gate, since a profile has
	// no StepPower from which to compute it; nil otherwise.
	Gate []float64
}

const (
	// MinSec is the length in seconds of the shortest recording that is measured. Our
	// choice: less has no phrase of music, so its mean tone means nothing.
	MinSec = 3

	// Octaves is the number of octaves, of 24 bands each.
	Octaves = spectrum.BandCount / spectrum.BandsPerOctave
)

// Measure reads src to its end and returns its table. path is recorded, and its base name
// becomes the name. Measure returns an [*audio.Error] for a sample rate outside [MinRateHz]
// to [MaxRateHz], and for a recording that is shorter than [MinSec], never louder than
// −70 LUFS (the absolute gate of BS.1770-4), or has less than [MinSec] of music. Other
// errors are those of src, such as its context's.
func Measure(ctx context.Context, src audio.Source, path string) (*Recording, error) {
	r := &Recording{Path: path, Name: NameOf(path), Format: src.Format(), RowSec: 1}
	rateHz := float64(r.Format.RateHz)
	if rateHz < MinRateHz || rateHz > MaxRateHz {
		return nil, &audio.Error{Kind: finding.UnusableRate, Path: path,
			Problem: fmt.Sprintf("has a sample rate of %d Hz", r.Format.RateHz),
			Hint:    "convert it to a rate between 8 and 192 kHz, such as 44.1 or 48 kHz"}
	}
	channels := min(2, r.Format.Channels)
	rows := &rows{to: r}
	rows.expect(r.Format.DurationSec())
	analyser := spectrum.NewAnalyser(rateHz, channels, rows.add)
	meter := loudness.NewMeter(rateHz, channels)
	peak := loudness.NewPeakMeter(rateHz, r.Format.Channels)
	clips := newClipping(rateHz, r.Format.Channels)
	frames := 0
	for block, err := range audio.Blocks(ctx, src) {
		if err != nil {
			return nil, err
		}
		analyser.Add(FrontPair(block))
		meter.Add(FrontPair(block))
		peak.Add(block)
		clips.add(block)
		frames += len(block[0])
	}
	rows.finish()
	r.DurationSec = float64(frames) / rateHz
	r.StepPower, r.StepPeak = meter.Steps(), meter.Peaks()
	r.LoudnessLUFS = loudness.Integrated(r.StepPower)
	r.Programme = programmeOf(r.StepPower, peak.TruePeakDBTP())
	r.ClippedPlaces = clips.places
	r.CutoffHz = cutoff(analyser)
	r.Warnings = src.Warnings()
	if r.Format.Channels > 2 {
		r.Warnings = append(r.Warnings, codec.Remark{Kind: codec.FrontPair, Count: int64(r.Format.Channels)})
	}
	if err := r.check(); err != nil {
		return nil, err
	}
	return r, nil
}

// MinRateHz and MaxRateHz bound the sample rates that are measured. A lower rate has too little of the spectrum; no
// recording has a higher one.
const MinRateHz, MaxRateHz = 8000, 192000

// check returns an error if the recording cannot be judged.
func (r *Recording) check() error {
	switch {
	case r.DurationSec < MinSec:
		return &audio.Error{Kind: finding.TooLittleMusic, Path: r.Path,
			Problem: fmt.Sprintf("lasts %.1f s; at least %d s are needed", r.DurationSec, MinSec),
			Hint:    "take a whole song, or a minute of it at least"}
	case math.IsInf(r.LoudnessLUFS, -1):
		return &audio.Error{Kind: finding.NoSound, Path: r.Path,
			Problem: "is silent: nothing in it is louder than −70 LUFS",
			Hint:    "check that the right tracks were on when it was bounced"}
	}
	if sec := r.MusicSec(); sec < MinSec {
		return &audio.Error{Kind: finding.TooLittleMusic, Path: r.Path,
			Problem: fmt.Sprintf("has only %.1f s of music; at least %d s are needed", sec, MinSec),
			Hint:    "check that the right tracks were on when it was bounced"}
	}
	return nil
}

// rows averages windows into rows of a second; a window belongs to the second of its middle.
type rows struct {
	to           *Recording
	power, cross [spectrum.BandCount]float64
	windows      int
}

// expect allocates the table for sec seconds at once, since a growing table leaves its
// smaller copies to the garbage collector. The announced length is trusted up to
// expectedSec.
func (s *rows) expect(sec float64) {
	const expectedSec = 4 * 3600 // 24 MB; our choice
	if n := int(min(sec, expectedSec)) + 2; n > 2 {
		s.to.Power = make([]float32, 0, n*spectrum.BandCount)
		s.to.Width = make([]Width, 0, n*spectrum.BandCount)
		s.to.OctavePower = make([]float32, 0, n*spectrum.WindowsPerSecond*Octaves)
	}
}

func (s *rows) add(window int, b *spectrum.Bands) {
	if int(spectrum.MiddleSec(window)) > s.to.Rows {
		s.finish()
	}
	s.windows++
	for i, p := range b.Power {
		s.power[i] += p
		s.cross[i] += b.Cross[i]
	}
	for o := range Octaves {
		sum := 0.0 // not floats.Sum, whose order depends on where its numbers lie in memory
		for _, p := range b.Power[o*spectrum.BandsPerOctave:][:spectrum.BandsPerOctave] {
			sum += p
		}
		s.to.OctavePower = append(s.to.OctavePower, float32(sum))
	}
}

// finish appends the mean of the windows since the last row as the next row.
func (s *rows) finish() {
	if s.windows == 0 {
		return
	}
	for i, p := range s.power {
		s.to.Power = append(s.to.Power, float32(p/float64(s.windows)))
		s.to.Width = append(s.to.Width, WidthOf(p+2*s.cross[i], p-2*s.cross[i]))
	}
	*s = rows{to: s.to}
	s.to.Rows++
}

// Row returns the power in each band of one row, 0 ≤ row < Rows. It shares r's memory, unless r is
// a mid or side.
func (r *Recording) Row(row int) []float32 {
	power := r.Power[row*spectrum.BandCount:][:spectrum.BandCount]
	if r.halved == nil {
		return power
	}
	half := make([]float32, spectrum.BandCount)
	for b, p := range power {
		half[b] = float32(r.halved(r.Width[row*spectrum.BandCount+b].Split(float64(p))))
	}
	return half
}

// MeanPower returns the weighted mean power in each band over the rows, with one weight per
// row; nil means equal weights. It is 0 everywhere if all weights are 0.
//
// Our choice, measured: an equaliser changes means of power exactly by its response. Means
// of dB, medians, and means of rows brought to equal level do not follow it.
func (r *Recording) MeanPower(weights []float64) []float64 {
	mean := make([]float64, spectrum.BandCount)
	total := 0.0
	for s := range r.Rows {
		w := 1.0
		if weights != nil {
			w = weights[s]
		}
		if w == 0 {
			continue
		}
		total += w
		for b, p := range r.Row(s) {
			mean[b] += w * float64(p)
		}
	}
	if total > 0 {
		floats.Scale(1/total, mean)
	}
	return mean
}
