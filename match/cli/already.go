package cli

import (
	"fmt"
	"math"

	"toneplumb/match"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
)

// earlier is what the mix was already sent through.
type earlier struct {
	path     string
	settings *match.Settings
}

// readEarlier reads the settings of an earlier round; nil if no file is named.
func readEarlier(path string) (*earlier, error) {
	if path == "" {
		return nil, nil
	}
	s, err := readSettings(path)
	if err != nil {
		return nil, err
	}
	return &earlier{path, s}, nil
}

// mostTakenDB is how much the earlier moves may have taken from a band. Our choice:
// several full moves on one spot take less, and below that there may be more noise
// than music.
const mostTakenDB = 30

// takenBack returns the mix as it was before the earlier moves, which ran at its rate.
func (e *earlier) takenBack(mix *measure.Recording) (*measure.Recording, error) {
	if e == nil {
		return mix, nil
	}
	e.settings.RateHz = float64(mix.Format.RateHz)
	for _, f := range e.settings.Moves {
		if err := f.Check(e.settings.RateHz); err != nil {
			return nil, fail("give the settings that the equaliser had when this mix was bounced", "%q does not fit %q: %s", e.path, mix.Path, err)
		}
	}
	gain := e.settings.PowerGain()
	back := make([]float64, len(gain))
	least, at := 1.0, 0.0
	for b, g := range gain {
		g /= spectrum.DBToPower(e.settings.TrimDB)
		if hz := spectrum.CentreHz(b); hz < e.settings.RateHz/2 && g < least {
			least, at = g, hz
		}
		back[b] = 1 / (math.Max(g, spectrum.DBToPower(-mostTakenDB)) * spectrum.DBToPower(e.settings.TrimDB))
	}
	if spectrum.PowerToDB(least) < -mostTakenDB {
		return nil, fail("bounce the mix again without the equaliser, and leave --already out",
			"%q takes more than %d dB away around %s: what is gone cannot be judged", e.path, mostTakenDB, match.Hertz(at))
	}
	before := mix.Through(back)
	if l := before.LoudnessLUFS; math.IsInf(l, 0) || math.IsNaN(l) {
		return nil, fail("give the settings that the equaliser had when this mix was bounced", "%q leaves nothing of %q to be heard", e.path, mix.Path)
	}
	return before, nil
}

// note says what the moves are, beside the distance as it stands.
func (e *earlier) note(c *match.Comparison, o match.SolveOptions) []string {
	if e == nil {
		return nil
	}
	now := c.With(e.settings.Moves, o).DistanceAfterDB
	return []string{fmt.Sprintf("the mix was bounced through the moves of %s, and with them the distance is %.2f dB as it stands; "+
		"the moves here are all there is to dial: they replace those", nameOf(e.path), now)}
}
