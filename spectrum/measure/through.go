package measure

import (
	"slices"

	"toneplumb/spectrum"
	"toneplumb/spectrum/loudness"
)

// LoudnessThrough returns the integrated loudness in LUFS that the whole recording would
// have after a filter with the given power gain |H|² in each band. A profile has no
// StepPower; there it is the loudness plus the gain of the mean spectrum.
func (r *Recording) LoudnessThrough(gain []float64) float64 {
	if r.StepPower != nil {
		return loudness.Integrated(r.StepPowerThrough(gain))
	}
	whole := *r
	whole.Counted = nil
	return r.LoudnessLUFS + whole.Through(gain).rowsLUFS() - whole.rowsLUFS()
}

// ChangeThrough returns the change of that loudness by the filter, in LU.
func (r *Recording) ChangeThrough(gain []float64) float64 {
	return r.LoudnessThrough(gain) - r.LoudnessThrough(slices.Repeat([]float64{1}, len(gain)))
}

// Through returns the recording as it would have been measured after a filter with the
// given power gain |H|² in each band. Peaks are then unknown: StepPeak is nil. Programme is
// still that of r.
func (r *Recording) Through(gain []float64) *Recording {
	t := *r
	t.Power = make([]float32, len(r.Power))
	for i := range r.Power {
		t.Power[i] = float32(float64(r.Power[i]) * gain[i%spectrum.BandCount])
	}
	t.StepPeak = nil
	if t.read == nil {
		t.read = r
	}
	if r.StepPower == nil {
		t.LoudnessLUFS += t.rowsLUFS() - r.rowsLUFS()
		return &t
	}
	t.OctavePower = make([]float32, len(r.OctavePower))
	for w := range len(r.OctavePower) / Octaves {
		row := min(int(spectrum.MiddleSec(w))/r.RowSec, r.Rows-1)
		for o := range Octaves {
			from, to := row*spectrum.BandCount+o*spectrum.BandsPerOctave, row*spectrum.BandCount+(o+1)*spectrum.BandsPerOctave
			before, after := sum(r.Power[from:to]), sum(t.Power[from:to])
			if before > 0 {
				t.OctavePower[w*Octaves+o] = float32(float64(r.OctavePower[w*Octaves+o]) * after / before)
			}
		}
	}
	t.StepPower = r.StepPowerThrough(gain)
	t.LoudnessLUFS = loudness.Integrated(t.countedSteps())
	return &t
}

// OwnLUFS returns what LoudnessLUFS would be if the recording had gone [Recording.Through] nothing, as the
// figure that belongs to its file.
func (r *Recording) OwnLUFS() float64 {
	if r.read == nil {
		return r.LoudnessLUFS
	}
	return r.read.partLUFS(r.Counted)
}

func sum(x []float32) float64 {
	total := 0.0
	for _, v := range x {
		total += float64(v)
	}
	return total
}

// StepPowerThrough returns StepPower as it would be after a filter with the given power gain
// |H|² in each band. Each 100 ms step is multiplied by Σ K·|H|²·E / Σ K·E, with the
// K-weighting K and the band powers E at that moment. E is the band powers of the step's
// second, scaled in each octave to the octave power at the step's middle, which is
// interpolated between windows, since a second has loud and soft moments.
//
// Our choice; measured against filtering the sound: see spectrum/README.md, "The table".
func (r *Recording) StepPowerThrough(gain []float64) []float64 {
	k := loudness.Weighting(spectrum.Centres(), float64(r.Format.RateHz))
	steps := make([]float64, len(r.StepPower))
	var before, after [Octaves]float64 // K-weighted power per power of the octave
	second := -1
	for i, p := range r.StepPower {
		if s := min(i/(loudness.StepsPerSecond*r.RowSec), r.Rows-1); s != second {
			second = s
			r.octaveGains(&before, &after, second, k, gain)
		}
		sumBefore, sumAfter := 0.0, 0.0
		for o, e := range r.octavesAt((float64(i) + 0.5) / loudness.StepsPerSecond) {
			sumBefore += before[o] * e
			sumAfter += after[o] * e
		}
		if sumBefore > 0 {
			p *= sumAfter / sumBefore
		}
		steps[i] = p
	}
	return steps
}

// octaveGains sets before and after, for one second, to Σ K·E / Σ E and Σ K·|H|²·E / Σ E
// over each octave's bands; 0 where the octave is silent.
func (r *Recording) octaveGains(before, after *[Octaves]float64, second int, k, gain []float64) {
	row := r.Row(second)
	for o := range Octaves {
		sum, sumBefore, sumAfter := 0.0, 0.0, 0.0
		for b := o * spectrum.BandsPerOctave; b < (o+1)*spectrum.BandsPerOctave; b++ {
			e := float64(row[b])
			sum += e
			sumBefore += k[b] * e
			sumAfter += k[b] * gain[b] * e
		}
		before[o], after[o] = 0, 0
		if sum > 0 {
			before[o], after[o] = sumBefore/sum, sumAfter/sum
		}
	}
}

// octavesAt returns the octave powers at a time in seconds, interpolated linearly between
// the middles of windows and constant before the first and after the last.
func (r *Recording) octavesAt(sec float64) (power [Octaves]float64) {
	at := (sec - spectrum.MiddleSec(0)) * spectrum.WindowsPerSecond
	last := len(r.OctavePower)/Octaves - 1
	at = min(max(at, 0), float64(last))
	w := min(int(at), last-1)
	share := at - float64(w)
	for o := range power {
		power[o] = (1-share)*float64(r.OctavePower[w*Octaves+o]) + share*float64(r.OctavePower[(w+1)*Octaves+o])
	}
	return power
}
