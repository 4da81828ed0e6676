package flags

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"toneplumb/match/report"
	"toneplumb/match/table"

	"github.com/spf13/cobra"
)

// numberFlag is a flag whose number is parsed by read.
type numberFlag struct {
	to   *float64
	read func(string) (float64, error)
}

// String implements pflag.Value, as Set and Type do.
func (n *numberFlag) String() string {
	if n.to == nil {
		return ""
	}
	return strconv.FormatFloat(*n.to, 'g', -1, 64)
}

func (n *numberFlag) Set(s string) error {
	x, err := n.read(s)
	if err != nil {
		return err
	}
	*n.to = x
	return nil
}

func (n *numberFlag) Type() string { return "number" }

// readNumber parses a number as people write it: "60", "−2,5", "12k", "12 kHz".
func readNumber(s string) (float64, error) {
	x, ok := table.ReadNumber(s)
	if !ok {
		return 0, errors.New("it is not a number")
	}
	return x, nil
}

// readAboveZero parses a number above 0.
func readAboveZero(s string) (float64, error) {
	x, err := readNumber(s)
	if err == nil && x <= 0 {
		return 0, errors.New("it is not above 0")
	}
	return x, err
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
