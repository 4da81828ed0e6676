package flags

import (
	"cmp"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"toneplumb/spectrum/measure"
)

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
	slices.SortFunc(p, func(a, b [2]float64) int { return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1])) })
	joined := p[:1]
	for _, s := range p[1:] {
		if last := &joined[len(joined)-1]; s[0] <= last[1] {
			last[1] = max(last[1], s[1])
		} else {
			joined = append(joined, s)
		}
	}
	return joined, nil
}
