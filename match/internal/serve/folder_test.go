//go:build unix

package serve

import (
	"context"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// A folder of someone else's, made to hold up the start: its address is a pipe that
// nobody writes to, a link to what has no end, or a server that sends us elsewhere.
func TestTraps(t *testing.T) {
	const soonSec = 5.0 // less than a person waits; the one look at a server takes a second at most
	t.Setenv("TMPDIR", t.TempDir())
	trap := func(name string) string {
		dir := filepath.Join(os.TempDir(), folderPrefix+name)
		if err := os.Mkdir(dir, 0o700); err != nil {
			t.Fatal(err)
		}
		return filepath.Join(dir, addressFile)
	}
	if err := syscall.Mkfifo(trap("pipe"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("/dev/zero", trap("endless")); err != nil {
		t.Fatal(err)
	}
	elsewhere := false
	far := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { elsewhere = true }))
	defer far.Close()
	near := httptest.NewServer(http.RedirectHandler(far.URL, http.StatusFound))
	defer near.Close()
	if err := os.WriteFile(trap("onwards"), []byte(strings.TrimPrefix(near.URL, "http://")), 0o600); err != nil {
		t.Fatal(err)
	}
	done := make(chan error, 1)
	go func() {
		_, err := newFolder(context.Background(), "127.0.0.1:1")
		done <- err
	}()
	select {
	case err := <-done:
		if err != nil {
			t.Error(err)
		}
	case <-time.After(soonSec * time.Second):
		t.Fatal("the start hangs")
	}
	if elsewhere {
		t.Error("a redirect was followed")
	}
}
