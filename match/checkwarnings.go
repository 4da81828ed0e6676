package match

import (
	"fmt"
	"slices"
	"strings"
)

// checkWarnings says what makes a check doubtful, and of peaks that are too high.
func checkWarnings(k *Check) []string {
	r := &Result{Comparison: k.Comparison}
	for _, ref := range k.References {
		r.LevelDifferenceDB += ref.LoudnessLUFS / float64(len(k.References))
	}
	r.LevelDifferenceDB -= k.Mix.LoudnessLUFS
	var all []string
	for _, w := range warnings(r) {
		// No moves come out of a check.
		all = append(all, strings.ReplaceAll(w, "nothing is advised", "nothing is judged"))
	}
	if k.Odd != nil {
		all = append(all, k.Odd.String())
	}
	if k.Mix.Known() && k.Mix.TruePeakDBTP > MostTruePeakDBTP {
		peak := fmt.Sprintf("the mix's true peak is %s dBTP; EBU R 128 has −1 dBTP as the most in production, and lossy coding may raise it", Gain(k.Mix.TruePeakDBTP))
		all = slices.Insert(all, 0, peak)
	}
	return all
}
