package serve

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/testkit"
)

// begin begins an upload by hand and returns its connection, nil if there is none.
func (v *visit) begin(name string, length int) net.Conn {
	conn, err := net.Dial("tcp", v.server.guard.address)
	if err != nil {
		v.t.Error(err)
		return nil
	}
	fmt.Fprintf(conn, "POST %srecordings?name=%s HTTP/1.1\r\nHost: %s\r\nOrigin: %s\r\nCookie: %s\r\nContent-Length: %d\r\nConnection: close\r\n\r\n",
		v.server.guard.home, name, v.server.guard.address, v.origin, v.cookie(), length)
	return conn
}

// A file that claims 3 GB is refused before a byte of it is read; one that is larger
// than allowed without saying so is given up where it passes the limit.
func TestTooLarge(t *testing.T) {
	v := enter(t)
	conn := v.begin("big.wav", 3<<30)
	defer conn.Close()
	conn.SetReadDeadline(time.Now().Add(10 * time.Second))
	got, _ := io.ReadAll(conn)
	if !bytes.HasPrefix(got, []byte("HTTP/1.1 413 ")) || !bytes.Contains(got, []byte(`larger than 2 GB`)) {
		t.Errorf("3 GB are answered with %.200q", got)
	}

	v.server.uploads.largest = 1 << 20
	var refused userError
	endless := io.MultiReader(bytes.NewReader(make([]byte, 2<<20))) // its length is not told
	if code := v.ask("POST", "/recordings?name=big.wav", endless, &refused); code != http.StatusRequestEntityTooLarge || refused.Hint == "" {
		t.Errorf("more than allowed is answered with %d, %+v", code, refused)
	}
	v.emptied()
}

// emptied checks that nothing is left in the private folder but what it is known by.
func (v *visit) emptied() {
	v.t.Helper()
	var left []string
	for range 200 {
		entries, err := os.ReadDir(v.server.folder)
		if err != nil {
			v.t.Fatal(err)
		}
		left = nil
		for _, e := range entries {
			if e.Name() != addressFile {
				left = append(left, e.Name())
			}
		}
		if len(left) == 0 && len(v.server.uploads.list()) == 0 {
			return
		}
		time.Sleep(20 * time.Millisecond)
	}
	v.t.Errorf("left over: %d files, %d recordings", len(left), len(v.server.uploads.list()))
}

// A broken file is told of in the command line's two lines, with the file's own name.
func TestBrokenFile(t *testing.T) {
	v := enter(t)
	whole := sound(t, 5, 1)
	for name, content := range map[string][]byte{
		"text.wav":    []byte("this is no sound at all"),
		"empty.wav":   nil,
		"header.wav":  whole[:20],
		"silence.wav": append(append([]byte{}, whole[:44]...), make([]byte, 400000)...),
		"m4a.m4a":     []byte("\x00\x00\x00\x20ftypM4A \x00\x00\x00\x00M4A mp42isom\x00\x00\x00\x00"),
		"half.json":   []byte(`{"version": 1, "kind": "recordings without sound", "recordings": [`),
	} {
		path := filepath.Join(t.TempDir(), name)
		if err := os.WriteFile(path, content, 0o600); err != nil {
			t.Fatal(err)
		}
		state := v.measured(v.drop(name, content))
		if state.State != failed || state.Trouble == nil || state.Trouble.Hint == "" || !strings.Contains(state.Trouble.What, name) || strings.Contains(state.Trouble.What, v.server.folder) {
			t.Errorf("%s: %s, %+v", name, state.State, state.Trouble)
			continue
		}
		src, err := audio.Open(context.Background(), path)
		if err == nil {
			src.Close()
			continue // only measuring it fails
		}
		if want := strings.ReplaceAll(err.Error(), path, name); name != "half.json" && state.Trouble.What != want {
			t.Errorf("%s: the page says %q, the command line %q", name, state.Trouble.What, want)
		}
	}
}

// Fifty uploads side by side, of which every second is cut, leave no file, no goroutine
// and no memory behind.
func TestCutUploads(t *testing.T) {
	testkit.Skip(t, "a hundred uploads")
	v := enter(t)
	content := sound(t, 5, 1)
	round := func() {
		var all sync.WaitGroup
		for i := range 50 {
			all.Go(func() {
				conn := v.begin(fmt.Sprintf("%d.wav", i), len(content))
				if conn == nil {
					return
				}
				defer conn.Close()
				if i%2 == 1 {
					conn.Write(content[:len(content)*i/50])
					return // cut
				}
				conn.Write(content)
				if answer, _ := io.ReadAll(conn); !bytes.HasPrefix(answer, []byte("HTTP/1.1 201 ")) {
					t.Errorf("upload %d is answered with %.60q", i, answer)
				}
			})
		}
		all.Wait()
		most := 0
		for busy := true; busy; time.Sleep(time.Millisecond) {
			busy = false
			var measured []*recording
			for _, rec := range v.server.uploads.list() {
				switch rec.now() {
				case measuring:
					measured = append(measured, rec)
					busy = true
				case waiting, arriving:
					busy = true
				}
			}
			// One may end and another begin while the list is read. What still is when all were seen was so at once.
			now := 0
			for _, rec := range measured {
				if rec.now() == measuring {
					now++
				}
			}
			most = max(most, now)
		}
		if limit := cap(v.server.uploads.free.places); most > limit {
			t.Errorf("%d were measured at once, %d at most should be", most, limit)
		}
		whole := 0
		for _, rec := range v.server.uploads.list() {
			if rec.now() == ready {
				whole++
			}
			v.ask("DELETE", "/recordings/"+rec.id, nil, nil)
		}
		if whole != 25 {
			t.Errorf("%d of 25 whole uploads were measured", whole)
		}
		v.emptied()
	}
	settled := func() (goroutines int, heap uint64) {
		v.client.CloseIdleConnections()
		var m runtime.MemStats
		for range 100 {
			runtime.GC()
			if n := runtime.NumGoroutine(); n == goroutines {
				break
			} else {
				goroutines = n
			}
			time.Sleep(100 * time.Millisecond)
		}
		runtime.ReadMemStats(&m)
		return goroutines, m.HeapAlloc
	}
	round() // what is made once is made now
	before, heapBefore := settled()
	round()
	round()
	after, heapAfter := settled()
	t.Logf("goroutines %d, then %d; heap %d kB, then %d kB", before, after, heapBefore>>10, heapAfter>>10)
	const someBytes = 4 << 20 // the tables of 75 recordings would have 12 MB, their sounds 66
	if after > before || heapAfter > heapBefore+someBytes {
		t.Errorf("goroutines %d, then %d; heap %d, then %d", before, after, heapBefore, heapAfter)
	}
}

// An upload that stops coming, and a measurement on its way, end with the server, and
// the folder is gone.
func TestStop(t *testing.T) {
	testkit.Skip(t, "measures six uploads")
	v := enter(t)
	conn := v.begin("a.wav", 1e6)
	defer conn.Close()
	fmt.Fprint(conn, "RIFF")
	content := sound(t, 20, 1)
	for range 6 {
		v.drop("long.wav", content)
	}
	v.stop()
	conn.SetReadDeadline(time.Now().Add(time.Minute)) // ends a hang
	if _, err := io.ReadAll(conn); errors.Is(err, os.ErrDeadlineExceeded) {
		t.Error("the upload is still open")
	}
	if left, _ := filepath.Glob(filepath.Join(os.TempDir(), folderPrefix+"*")); len(left) > 0 {
		t.Errorf("left over: %q", left)
	}
}

// What a crash left is gone at the next start; what a server that runs keeps is not.
func TestLeftBehind(t *testing.T) {
	v := start(t)
	crashed := filepath.Join(os.TempDir(), folderPrefix+"crashed")
	for _, dir := range []string{crashed, filepath.Join(os.TempDir(), folderPrefix+"starting"), filepath.Join(os.TempDir(), "toneplumb-other")} {
		if err := os.MkdirAll(filepath.Join(dir, "deep"), 0o700); err != nil {
			t.Fatal(err)
		}
	}
	// The address of this server, which does not keep that folder: the port was taken again.
	if err := os.WriteFile(filepath.Join(crashed, addressFile), []byte(v.server.guard.address), 0o600); err != nil {
		t.Fatal(err)
	}
	outside := filepath.Join(t.TempDir(), "precious")
	if err := os.WriteFile(outside, []byte("kept"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(filepath.Dir(outside), filepath.Join(os.TempDir(), folderPrefix+"link")); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	second, err := New(ctx, 0, io.Discard)
	if err != nil {
		t.Fatal(err)
	}
	ended := make(chan error)
	go func() { ended <- second.Run(ctx) }()
	for path, want := range map[string]bool{
		crashed: false, v.server.folder: true, outside: true,
		filepath.Join(os.TempDir(), folderPrefix+"starting"): true, // it may be about to write its address
		filepath.Join(os.TempDir(), "toneplumb-other"):       true,
	} {
		if _, err := os.Stat(path); (err == nil) != want {
			t.Errorf("%s: there %v, want %v", path, err == nil, want)
		}
	}
	cancel()
	if err := <-ended; err != nil {
		t.Error(err)
	}
}

// What a comparison in the history keeps does not hold the tables of recordings that
// were taken away.
func TestSittingHoldsNoTables(t *testing.T) {
	v := enter(t)
	mix, ref := v.drop("m.wav", sound(t, 5, 1)), v.drop("r.wav", sound(t, 5, 2))
	v.measured(mix)
	v.measured(ref)
	for range 2 {
		if code := v.post("/result", usual(mix, ref), nil); code != http.StatusOK {
			t.Fatalf("answered with %d", code)
		}
	}
	entries := v.server.history.entries
	if len(entries) != 1 || entries[0].Request.Mix != mix || entries[0].Request.mix != nil || entries[0].Request.references != nil {
		t.Errorf("%d entries, %+v", len(entries), entries)
	}
}
