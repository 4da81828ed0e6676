package match

import (
	"toneplumb/spectrum/measure"
)

// masteredDB is the gap in peak to loudness beyond which a limiter is likely. Common
// practice, no source, from memory.
const masteredDB = 4

// Mastered: the references' true peaks stand much less above their loudness (means of
// the whole recordings) than the mix's do, as a limiter leaves them.
type Mastered struct {
	ReferenceDB, MixDB float64 // peak to loudness
	References         int
}

func (Mastered) Code() string       { return "mastered" }
func (Mastered) Severity() Severity { return Caution }

// mastered reports whether the references are; not where not all is known.
func mastered(mix *measure.Recording, references []*measure.Recording) (m Mastered, is bool) {
	if len(references) == 0 || !mix.Valid() {
		return m, false
	}
	for i, r := range references {
		if !r.Valid() {
			return m, false
		}
		m.ReferenceDB += (r.PeakToLoudnessDB() - m.ReferenceDB) / float64(i+1)
	}
	m.MixDB, m.References = mix.PeakToLoudnessDB(), len(references)
	return m, m.MixDB-m.ReferenceDB > masteredDB
}
