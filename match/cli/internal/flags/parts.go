package flags

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"toneplumb/match"
	"toneplumb/match/job"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// parts are the flags that choose passages of the mix and the references; unset, all are used.
type parts struct{ mix, ref, loudest string }

func (o *parts) add(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringVar(&o.mix, "mix-part", "", "count only these `PARTS` of the mix, such as 0:45-1:30;\nseveral with commas between")
	f.StringVar(&o.ref, "ref-part", "", "count only these `PARTS` of each reference")
	f.StringVar(&o.loudest, "loudest", "", "count only the loudest parts, `SECONDS` in all, of a side\nwhose part is not given")
}

func (o *parts) parse() (match.Parts, error) {
	var parts match.Parts
	for _, side := range []struct {
		option, text string
		to           *measure.Passages
	}{{"--mix-part", o.mix, &parts.Mix}, {"--ref-part", o.ref, &parts.Reference}} {
		if side.text == "" {
			continue
		}
		p, err := ParsePassages(side.text)
		if err != nil {
			return parts, job.Fail(finding.WrongOption, fmt.Sprintf("write it as %s 0:45-1:30, several as %s 0:45-1:30,2:00-2:40", side.option, side.option), "%s: %s", side.option, err)
		}
		*side.to = p
	}
	if o.loudest == "" {
		return parts, nil
	}
	sec, err := parseTime(o.loudest)
	if err != nil {
		return parts, job.Fail(finding.WrongOption, "write it in seconds, --loudest 60", "--loudest %q: %s", o.loudest, err)
	}
	if sec < measure.MinSec {
		return parts, job.Fail(finding.WrongOption, "a minute is a good length, --loudest 60", "--loudest %q is too short: at least %d s are needed", o.loudest, measure.MinSec)
	}
	parts.LoudestSec = sec
	return parts, nil
}

// errTime lists the ways to write a time.
var errTime = errors.New("a time is m:ss, h:mm:ss or seconds")

// timeForm is what a time looks like. Our choice: 7 digits, 115 days in seconds.
var timeForm = regexp.MustCompile(`^\d{1,7}(:[0-5]?\d){0,2}(\.\d{1,7})?$`)

// parseTime parses a time into seconds: "45", "1:30", "1:02.5", "1:10:00". Parts after a colon must
// be below 60.
func parseTime(s string) (sec float64, err error) {
	if !timeForm.MatchString(s) {
		return 0, errTime
	}
	for part := range strings.SplitSeq(s, ":") {
		x, err := strconv.ParseFloat(part, 64)
		if err != nil {
			return 0, errTime
		}
		sec = 60*sec + x
	}
	return sec, nil
}

// ParsePassages parses "0:45-1:30", or several with commas between, and returns them in order,
// joined where they meet. The error names the invalid one.
func ParsePassages(s string) (measure.Passages, error) {
	var p measure.Passages
	for _, text := range strings.Split(s, ",") {
		text = strings.TrimSpace(text)
		from, to, found := strings.Cut(strings.ReplaceAll(text, "–", "-"), "-")
		fromSec, err1 := parseTime(strings.TrimSpace(from))
		toSec, err2 := parseTime(strings.TrimSpace(to))
		switch {
		case !found:
			return nil, fmt.Errorf("%q is not two times with - between", text)
		case err1 != nil:
			return nil, fmt.Errorf("%q is no time: %w", strings.TrimSpace(from), err1)
		case err2 != nil:
			return nil, fmt.Errorf("%q is no time: %w", strings.TrimSpace(to), err2)
		case fromSec >= toSec:
			return nil, fmt.Errorf("%q runs backwards or lasts nothing", text)
		}
		p = append(p, [2]float64{fromSec, toSec})
	}
	slices.SortFunc(p, func(a, b [2]float64) int { return slices.Compare(a[:], b[:]) })
	var joined measure.Passages
	for _, s := range p {
		joined = joined.Extended(s[0], s[1])
	}
	return joined, nil
}
