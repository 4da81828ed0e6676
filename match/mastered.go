package match

import (
	"fmt"

	"toneplumb/spectrum/measure"
)

// masteredDB is the gap in peak to loudness beyond which a limiter is likely. Common
// practice, no source, from memory.
const masteredDB = 4

// Mastered returns a warning where the references' true peak stands much less above
// their loudness (mean of the whole recordings) than the mix's does, as a limiter leaves
// it; "" where not, or where not all is known.
func Mastered(mix *measure.Recording, references []*measure.Recording) string {
	if len(references) == 0 || !mix.Known() {
		return ""
	}
	mean := 0.0
	for i, r := range references {
		if !r.Known() {
			return ""
		}
		mean += (r.PeakToLoudnessDB() - mean) / float64(i+1)
	}
	if mix.PeakToLoudnessDB()-mean <= masteredDB {
		return ""
	}
	side, verb, whose := "the reference", "was", "its"
	if len(references) > 1 {
		side, verb, whose = "the references", "were", "their"
	}
	return fmt.Sprintf("%s %s probably mastered: %s peaks stand %.1f dB above the loudness, the mix's %.1f; part of the low-end and top difference may be the limiter's",
		side, verb, whose, mean, mix.PeakToLoudnessDB())
}
