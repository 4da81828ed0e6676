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

// number is a flag whose number is parsed by read.
type number struct {
	to   *float64
	read func(string) (float64, error)
}

// String implements pflag.Value, as Set and Type do.
func (n *number) String() string {
	if n.to == nil {
		return ""
	}
	return strconv.FormatFloat(*n.to, 'g', -1, 64)
}

// Set parses the flag.
func (n *number) Set(s string) error {
	x, err := n.read(s)
	if err != nil {
		return err
	}
	*n.to = x
	return nil
}

// Type names the flag's type.
func (n *number) Type() string { return "number" }

var errNumber = errors.New("it is not a number")

// readNumber parses a finite number.
func readNumber(s string) (float64, error) {
	x, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
	if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
		return 0, errNumber
	}
	return x, nil
}

// readPercent parses "60" or "60%".
func readPercent(s string) (float64, error) { return readNumber(strings.TrimSuffix(s, "%")) }

// readAboveZero parses a number above 0.
func readAboveZero(s string) (float64, error) {
	x, err := readNumber(s)
	if err == nil && x <= 0 {
		return 0, errors.New("it is not above 0")
	}
	return x, err
}

// readHertz parses a frequency in Hz: "60", "60 Hz", "12k", "12 kHz".
func readHertz(s string) (float64, error) {
	s = strings.TrimSpace(strings.TrimSuffix(strings.ToLower(strings.TrimSpace(s)), "hz"))
	factor := 1.0
	if kilo, found := strings.CutSuffix(s, "k"); found {
		s, factor = kilo, 1000
	}
	x, err := readNumber(s)
	return factor * x, err
}

// Wrapped returns a paragraph of help, wrapped to the columns of a report.
func Wrapped(text string) string {
	var p report.TextReport
	p.Paragraph("", text)
	return strings.TrimSuffix(p.String(), "\n")
}

// complete sets the fixed values of a flag for completion. It panics if there is no such flag.
func complete(cmd *cobra.Command, flag string, words ...string) {
	if err := cmd.RegisterFlagCompletionFunc(flag, cobra.FixedCompletions(words, cobra.ShellCompDirectiveNoFileComp)); err != nil {
		panic(fmt.Sprintf("cli: %s", err))
	}
}
