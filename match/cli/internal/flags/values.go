package flags

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"toneplumb/match/report"

	"github.com/spf13/cobra"
)

// number is a flag that takes a number in a way of its own.
type number struct {
	to   *float64
	read func(string) (float64, error)
}

// String implements the flag package's Value, as Set and Type do.
func (n *number) String() string {
	if n.to == nil {
		return ""
	}
	return strconv.FormatFloat(*n.to, 'g', -1, 64)
}

// Set reads the flag.
func (n *number) Set(s string) error {
	x, err := n.read(s)
	if err != nil {
		return err
	}
	*n.to = x
	return nil
}

// Type names what the flag takes.
func (n *number) Type() string { return "number" }

var errNumber = errors.New("it is not a number")

// readNumber reads a finite number.
func readNumber(s string) (float64, error) {
	x, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
	if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
		return 0, errNumber
	}
	return x, nil
}

// readPercent reads "60" or "60%".
func readPercent(s string) (float64, error) { return readNumber(strings.TrimSuffix(s, "%")) }

// readAboveZero reads a number above 0.
func readAboveZero(s string) (float64, error) {
	x, err := readNumber(s)
	if err == nil && x <= 0 {
		return 0, errors.New("it is not above 0")
	}
	return x, err
}

// readHertz reads a frequency: "60", "60 Hz", "12k", "12 kHz".
func readHertz(s string) (float64, error) {
	s = strings.TrimSpace(strings.TrimSuffix(strings.ToLower(strings.TrimSpace(s)), "hz"))
	factor := 1.0
	if kilo, found := strings.CutSuffix(s, "k"); found {
		s, factor = kilo, 1000
	}
	x, err := readNumber(s)
	return factor * x, err
}

// Wrapped is a paragraph of help, in the columns of the rest of it.
func Wrapped(text string) string {
	var p report.TextReport
	p.Paragraph("", text)
	return strings.TrimSuffix(p.String(), "\n")
}

// complete offers fixed words for an option. An unknown option is a programming error.
func complete(cmd *cobra.Command, flag string, words ...string) {
	if err := cmd.RegisterFlagCompletionFunc(flag, cobra.FixedCompletions(words, cobra.ShellCompDirectiveNoFileComp)); err != nil {
		panic(fmt.Sprintf("cli: %s", err))
	}
}
