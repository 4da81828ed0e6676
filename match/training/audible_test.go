package training

import (
	"slices"
	"testing"

	"toneplumb/spectrum"
	"toneplumb/spectrum/testkit"
)

// No move lies where the mix has nothing that is heard, such as the faint bottom of a mix without a bass; boosts are
// bounded, and a large one is announced.
func TestDrawTasksWhereSound(t *testing.T) {
	testkit.Skip(t, "draws 180 renders")
	const faintDB = -25 // a little below the threshold in quiet at 40 Hz; half of an octave higher
	power := music(20, 20000)
	for b, hz := range spectrum.Centres() {
		if hz < 56 {
			power[b] *= spectrum.DBToPower(faintDB)
		}
	}
	h := newHearing(power, 44100)
	for _, d := range []Difficulty{Easy, Medium, Hard} {
		for seed := range uint64(5) {
			tasks, err := DrawTasks(12, Draw{Rules: d.Rules(), Seed: seed}, h)
			if err != nil {
				t.Fatalf("%s: %v", d, err)
			}
			for _, f := range slices.Concat(tasks...) {
				if f.FreqHz < 50 || f.GainDB > mostBoostDB {
					t.Errorf("%s: %v", d, f)
				}
			}
		}
	}
}
