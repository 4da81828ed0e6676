package vector

import "testing"

func TestHundredths(t *testing.T) {
	for n, want := range map[int]string{
		0: "0", 1: ".01", 10: ".1", 12: ".12", 100: "1", 101: "1.01", 1250: "12.5", -5: "-.05", -100: "-1", -1234: "-12.34",
	} {
		if got := string(appendHundredths(nil, n)); got != want {
			t.Errorf("%d: %q, want %q", n, got, want)
		}
	}
}
