package measure

import (
	"toneplumb/spectrum/loudness"
)

// Programme are figures of a recording from start to end, where LoudnessLUFS and the
// tables are of the passages that count. Part and Through leave them alone.
type Programme struct {
	WholeLUFS        float64 // integrated, of the front pair; 0 if nothing here is known
	RangeLU          float64 // loudness range, EBU Tech 3342
	MomentaryMaxLUFS float64 // loudest 400 ms
	ShortTermMaxLUFS float64 // loudest 3 s
	TruePeakDBTP     float64 // of all channels; loudness.FloorDBTP at least
}

// Valid reports whether there are figures.
func (w Programme) Valid() bool { return w.WholeLUFS != 0 }

// PeakToLoudnessDB is how far the true peak stands above the loudness.
func (w Programme) PeakToLoudnessDB() float64 { return w.TruePeakDBTP - w.WholeLUFS }

// FrontPair returns the channels of a block that are judged and whose loudness is given:
// the first two, or the one there is.
//
// Our choice: one loudness everywhere, that of what is compared. BS.1770-4 would add
// centre and surrounds, of which no curve here says anything; peaks are of all channels,
// since each can clip.
func FrontPair(block [][]float64) [][]float64 { return block[:min(2, len(block))] }

// programmeOf returns the figures of the front pair's steps and a true peak. Silence is at
// the floor, since JSON cannot hold −Inf.
func programmeOf(steps []float64, truePeakDBTP float64) Programme {
	atLeast := func(lufs float64) float64 { return max(loudness.FloorDBTP, lufs) }
	return Programme{
		WholeLUFS:        atLeast(loudness.Integrated(steps)),
		RangeLU:          loudness.Range(steps),
		MomentaryMaxLUFS: atLeast(loudness.MomentaryMax(steps)),
		ShortTermMaxLUFS: atLeast(loudness.ShortTermMax(steps)),
		TruePeakDBTP:     truePeakDBTP,
	}
}
