package cli

import (
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"toneplumb/match"
)

// addCompare gives a command the flags that say how it compares.
func addCompare(cmd *cobra.Command, smooth, span *string) {
	f := cmd.Flags()
	f.StringVar(smooth, "smooth", "1/3", "smooth over this `FRACTION` of an octave")
	f.StringVar(span, "range", "40-16000", "judge only these `FREQUENCIES` in Hz")
}

// parseCompare reads and checks them.
func parseCompare(smooth, span string) (match.CompareOptions, error) {
	var o match.CompareOptions
	oct, err := parseFraction(smooth)
	if err != nil {
		return o, fail("use one of 1/1 1/2 1/3 1/6 1/12 1/24", "--smooth %q is not a fraction of an octave", smooth)
	}
	low, high, found := strings.Cut(strings.ReplaceAll(span, "–", "-"), "-")
	lowHz, err1 := readHertz(low)
	highHz, err2 := readHertz(high)
	if !found || err1 != nil || err2 != nil {
		return o, fail("write it as two frequencies, --range 40-16000 or --range 40-16k", "--range %q is not a range", span)
	}
	o = match.CompareOptions{SmoothOct: oct, RangeHz: [2]float64{lowHz, highHz}}
	if err := o.Check(); err != nil {
		return o, fail("see toneplumb match --help", "%s", err)
	}
	return o, nil
}

// parseFraction reads "1/3" or "1".
func parseFraction(s string) (float64, error) {
	over, under, found := strings.Cut(s, "/")
	if !found {
		under = "1"
	}
	a, err := strconv.ParseFloat(over, 64)
	if err != nil {
		return 0, err
	}
	b, err := strconv.ParseFloat(under, 64)
	if err != nil {
		return 0, err
	}
	return a / b, nil
}
