//go:build !unix

package audiotest

import (
	"testing"
	"time"
)

// processorTime returns 0: it is not measured on this system.
func processorTime(testing.TB) time.Duration { return 0 }
