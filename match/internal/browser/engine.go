package browser

import (
	"cmp"
	"context"
	"os"
	"sync"
	"testing"

	"toneplumb/spectrum/testkit"
)

// engine is a browser that runs.
type engine interface {
	// open opens a tab as a new person whose downloads go to a folder.
	open(ctx context.Context, downloads string, h *heard) (page, error)
	stop()
}

// engines starts the browser of a name. A missing program is told by its name.
var engines = map[string]func() (e engine, missing string, err error){
	"chromium": startChromium,
	"firefox":  startFirefox,
	"webkit":   startWebKit,
}

// running are the browsers of all tests, by name.
var running = struct {
	sync.Mutex
	all  map[string]engine
	each string // the browser that Each is at
}{all: map[string]engine{}}

// tempDir is the system's temporary folder, read before a test can set another one that would be
// removed before the browser ends.
var tempDir = os.TempDir()

// Engine returns the name of the browser that Open uses.
func Engine() string {
	return cmp.Or(running.each, os.Getenv("TONEPLUMB_BROWSER"), "chromium")
}

// Each runs a test in every engine that there is; a missing one is told as [testkit.Missing] does. One that
// TONEPLUMB_BROWSER names is used alone.
func Each(t *testing.T, test func(t *testing.T)) {
	names := []string{"chromium", "firefox", "webkit"}
	if name := os.Getenv("TONEPLUMB_BROWSER"); name != "" {
		names = []string{name}
	}
	for _, name := range names {
		t.Run(name, func(t *testing.T) {
			running.each = name
			defer func() { running.each = "" }()
			test(t)
		})
	}
}

// Stop stops the browsers that run.
func Stop() {
	for _, e := range running.all {
		e.stop()
	}
	stopOutput()
}

func start(t testing.TB) engine {
	t.Helper()
	running.Lock()
	defer running.Unlock()
	name := Engine()
	if e := running.all[name]; e != nil {
		return e
	}
	begin := engines[name]
	if begin == nil {
		t.Fatalf("TONEPLUMB_BROWSER is %q; there are chromium, firefox and webkit", name)
	}
	e, missing, err := begin()
	if missing != "" {
		testkit.Missing(t, missing)
	}
	if err != nil {
		t.Fatal(err)
	}
	running.all[name] = e
	return e
}
