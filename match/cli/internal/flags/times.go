package flags

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"toneplumb/spectrum/measure"
)

// errTime lists the ways to write a time.
var errTime = errors.New("a time is m:ss, h:mm:ss or seconds")

// parseTime parses a time into seconds: "45", "1:30", "1:02.5", "1:10:00". Parts after a colon must
// be below 60.
func parseTime(s string) (sec float64, err error) {
	parts := strings.Split(s, ":")
	if len(parts) > 3 {
		return 0, errTime
	}
	const digits, most = "0123456789", 7 // digits; our choice: 115 days in seconds
	for i, part := range parts {
		whole, fraction, broken := strings.Cut(part, ".")
		switch {
		case whole == "" || len(whole) > most || i > 0 && len(whole) > 2 || strings.Trim(whole+fraction, digits) != "":
			return 0, errTime
		case broken && (i < len(parts)-1 || fraction == "" || len(fraction) > most):
			return 0, errTime
		}
		x, err := strconv.ParseFloat(part, 64)
		if err != nil || i > 0 && x >= 60 {
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
