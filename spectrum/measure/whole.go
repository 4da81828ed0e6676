package measure

import (
	"toneplumb/spectrum/loudness"
)

// Whole are figures of a recording as it is played, from start to end and over all
// its channels, where LoudnessLUFS and the tables are of what is judged: the
// passages that count, and the front pair. Part and Through leave them alone.
type Whole struct {
	WholeLUFS        float64 // integrated, as ITU-R BS.1770-4 weights the channels; 0 if nothing here is known
	RangeLU          float64 // loudness range, EBU Tech 3342
	MomentaryMaxLUFS float64 // loudest 400 ms
	ShortTermMaxLUFS float64 // loudest 3 s
	TruePeakDBTP     float64 // of all channels; loudness.FloorDBTP at least
}

// Known tells whether there are figures.
func (w Whole) Known() bool { return w.WholeLUFS != 0 }

// PeakToLoudnessDB is how far the true peak stands above the loudness.
func (w Whole) PeakToLoudnessDB() float64 { return w.TruePeakDBTP - w.WholeLUFS }

// wholeMeter measures Whole. Of mono and stereo the loudness of the front pair is that
// of all channels, so it keeps a meter of its own only for more.
type wholeMeter struct {
	peak *loudness.PeakMeter
	all  *loudness.Meter // nil: the front pair's will do
}

func newWholeMeter(rateHz float64, channels int) *wholeMeter {
	m := &wholeMeter{peak: loudness.NewPeakMeter(rateHz, channels)}
	if channels > 2 {
		m.all = loudness.NewMeter(rateHz, channels)
	}
	return m
}

func (m *wholeMeter) add(block [][]float64) {
	m.peak.Add(block)
	if m.all != nil {
		m.all.Add(block)
	}
}

// result takes the steps of the front pair. Silence is at the floor, since JSON
// cannot hold −Inf.
func (m *wholeMeter) result(frontSteps []float64) Whole {
	steps := frontSteps
	if m.all != nil {
		steps = m.all.Steps()
	}
	atLeast := func(lufs float64) float64 { return max(loudness.FloorDBTP, lufs) }
	return Whole{
		WholeLUFS:        atLeast(loudness.Integrated(steps)),
		RangeLU:          loudness.Range(steps),
		MomentaryMaxLUFS: atLeast(loudness.MomentaryMax(steps)),
		ShortTermMaxLUFS: atLeast(loudness.ShortTermMax(steps)),
		TruePeakDBTP:     m.peak.TruePeakDBTP(),
	}
}

// wholeEntry is Whole in a profile.
type wholeEntry struct {
	LoudnessLUFS     float64 `json:"loudness_lufs"`
	RangeLU          float64 `json:"loudness_range_lu"`
	MomentaryMaxLUFS float64 `json:"momentary_max_lufs"`
	ShortTermMaxLUFS float64 `json:"short_term_max_lufs"`
	TruePeakDBTP     float64 `json:"true_peak_dbtp"`
}

// entry returns the figures to a thousandth, nil where nothing is known.
func (w Whole) entry() *wholeEntry {
	if !w.Known() {
		return nil
	}
	const step = 1e-3
	return &wholeEntry{round(w.WholeLUFS, step), round(w.RangeLU, step), round(w.MomentaryMaxLUFS, step), round(w.ShortTermMaxLUFS, step), round(w.TruePeakDBTP, step)}
}

func (e *wholeEntry) whole() Whole {
	if e == nil {
		return Whole{}
	}
	return Whole{e.LoudnessLUFS, e.RangeLU, e.MomentaryMaxLUFS, e.ShortTermMaxLUFS, e.TruePeakDBTP}
}

// figure is a number of a profile, and what it may be.
type figure struct {
	name           string
	x, least, most float64
}

func (e *wholeEntry) figures() []figure {
	if e == nil {
		return nil
	}
	const least, most = loudness.FloorDBTP, maxLoudnessLUFS
	return []figure{
		{"whole.loudness_lufs", e.LoudnessLUFS, least, most}, {"whole.loudness_range_lu", e.RangeLU, 0, most - least},
		{"whole.momentary_max_lufs", e.MomentaryMaxLUFS, least, most}, {"whole.short_term_max_lufs", e.ShortTermMaxLUFS, least, most},
		{"whole.true_peak_dbtp", e.TruePeakDBTP, least, most},
	}
}
