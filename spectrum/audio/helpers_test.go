package audio

import (
	"context"
	"testing"
)

func openFile(t testing.TB, path string) Source {
	t.Helper()
	src, err := Open(context.Background(), path)
	if err != nil {
		t.Fatalf("Open: %v", err)
	}
	return src
}
