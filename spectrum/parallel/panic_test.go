package parallel

import (
	"context"
	"strings"
	"testing"
)

// A panic of a call reaches the goroutine that waits for all, with the place where it happened.
func TestPanicReachesCaller(t *testing.T) {
	p := Caught(func() {
		Each(t.Context(), 2, 5, func(_ context.Context, i int) error {
			if i == 3 {
				broken()
			}
			return nil
		})
	})
	if p == nil || p.Value != "broken" || !strings.Contains(p.Error(), "parallel.broken") {
		t.Errorf("caught is %v", p)
	}
	if p := Caught(func() {}); p != nil {
		t.Errorf("without a panic, caught is %v", p)
	}
}

func broken() { panic("broken") }
