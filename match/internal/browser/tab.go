// Package browser drives real browsers in tests of pages. No program imports it.
//
// Most callers use [Open] in a test and [Stop] in TestMain. One browser runs for all tests of a
// package; each test is a separate person in it, with its own cookies. The engine is Chromium, or
// the one that TONEPLUMB_BROWSER names: "firefox" or "webkit". [Each] runs a test in all three.
//
// It is at the top of the layers, so that only tests can import it.
package browser

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"toneplumb/spectrum/testkit"
)

// Tab is a tab with one page, and the browser's complaints about it.
type Tab struct {
	T         testing.TB
	Downloads string // folder of the files downloaded from the page

	page page
	ctx  context.Context
	heard
}

// heard is what the browser says about a page.
type heard struct {
	lock       sync.Mutex
	complaints []string // console messages, exceptions, refusals
	requests   []string // addresses requested; empty in WebKit
}

// page is a tab as an engine drives it.
type page interface {
	// eval returns the value of an expression as JSON; a promise is awaited.
	eval(ctx context.Context, expression string) ([]byte, error)
	visit(ctx context.Context, address string) error
	reload(ctx context.Context) error
	// press presses keys one after the other. Keys without a character are the code points of
	// WebDriver's table of keys; Shift is held until the end.
	press(ctx context.Context, keys string) error
	// point moves the mouse through places and holds the button from the first to the last.
	point(ctx context.Context, places [][2]float64) error
	// files puts files from disk in the file field of a selector.
	files(ctx context.Context, selector string, paths []string) error
	// show sets the size of the window, and the paper: "light", "dark", or "print dark" where an
	// engine can.
	show(ctx context.Context, width, height int64, paper string) error
	// picture returns the window as PNG, or the whole page if the engine can.
	picture(ctx context.Context, whole bool) ([]byte, error)
	pdf(ctx context.Context) ([]byte, error) // on A4
	beside(ctx context.Context, h *heard) (page, error)
	close()
}

// Keys that have no character. Source: W3C WebDriver Level 2, section "Keyboard actions", table of
// normalised key values.
const (
	Enter  = "\uE007"
	Shift  = "\uE008"
	Escape = "\uE00C"
	End    = "\uE010"
	Home   = "\uE011"
	Left   = "\uE012"
	Up     = "\uE013"
	Right  = "\uE014"
	Down   = "\uE015"
	Delete = "\uE017"
)

// Times are for two slow cores that others use too.
const (
	patience = 5 * time.Minute       // for one test
	wait     = time.Minute           // for one thing in a test
	look     = 20 * time.Millisecond // between checks
)

// Open opens an address as a new person, unknown to any page. It skips the test if the browser is
// not there.
func Open(t testing.TB, address string) *Tab {
	t.Helper()
	testkit.Skip(t, "drives a browser")
	b := newTab(t)
	e := start(t)
	var err error
	if b.page, err = e.open(b.ctx, b.Downloads, &b.heard); err != nil {
		t.Fatal(err)
	}
	return b.first(address)
}

// Beside opens an address in a second tab of the same person.
func (b *Tab) Beside(address string) *Tab {
	b.T.Helper()
	second := newTab(b.T)
	second.Downloads = b.Downloads
	var err error
	if second.page, err = b.page.beside(second.ctx, &second.heard); err != nil {
		b.T.Fatal(err)
	}
	return second.first(address)
}

func newTab(t testing.TB) *Tab {
	ctx, stop := context.WithTimeout(context.Background(), patience)
	t.Cleanup(stop)
	return &Tab{T: t, Downloads: t.TempDir(), ctx: ctx}
}

// first shows the first page of a new tab.
func (b *Tab) first(address string) *Tab {
	b.T.Helper()
	b.T.Cleanup(b.page.close)
	b.must(b.page.show(b.ctx, 1280, 800, "light")) // a new window may still change its size, which moves what is clicked
	b.must(b.page.visit(b.ctx, address))
	b.Until(`document.querySelector("main") !== null && document.readyState === "complete"`)
	return b
}

func (b *Tab) must(err error) {
	b.T.Helper()
	if err != nil {
		b.T.Fatal(err)
	}
}

func (h *heard) complain(format string, args ...any) {
	h.lock.Lock()
	defer h.lock.Unlock()
	h.complaints = append(h.complaints, fmt.Sprintf(format, args...))
}

func (h *heard) asked(address string) {
	h.lock.Lock()
	defer h.lock.Unlock()
	h.requests = append(h.requests, address[:min(80, len(address))])
}

// Said returns the browser's complaints.
func (b *Tab) Said() []string {
	b.lock.Lock()
	defer b.lock.Unlock()
	return append([]string{}, b.complaints...)
}

// Requests returns the addresses that the page requested, each cut to 80 bytes.
func (b *Tab) Requests() []string {
	b.lock.Lock()
	defer b.lock.Unlock()
	return append([]string{}, b.requests...)
}

// Quiet fails the test if the browser complained, except about what contains one of but.
func (b *Tab) Quiet(but ...string) {
	b.T.Helper()
	b.Text("0") // WebKit hands complaints over with answers
	for _, said := range b.Said() {
		expected := false
		for _, words := range but {
			expected = expected || strings.Contains(said, words)
		}
		if !expected {
			b.T.Errorf("the browser says %s", said)
		}
	}
}

// Eval runs a script, waits for its promise, and returns its value.
func Eval[V any](b *Tab, script string) V {
	b.T.Helper()
	raw, err := b.page.eval(b.ctx, script)
	var value V
	if err == nil {
		err = json.Unmarshal(raw, &value)
	}
	if err != nil {
		b.T.Fatalf("%v in %.300s", err, script)
	}
	return value
}

// Text returns the value of a JavaScript expression as text.
func (b *Tab) Text(expression string) string {
	b.T.Helper()
	return Eval[string](b, "String("+expression+")")
}

// Want fails the test if the value of an expression is not want; what names it.
func (b *Tab) Want(what, expression, want string) {
	b.T.Helper()
	if got := b.Text(expression); got != want {
		b.T.Errorf("%s: %q, want %q", what, got, want)
	}
}

// Until waits for an expression to be true, and fails the test after a minute.
func (b *Tab) Until(expression string) {
	b.T.Helper()
	for end := time.Now().Add(wait); b.Text(expression) != "true"; time.Sleep(look) {
		if time.Now().After(end) {
			told := b.Text(`[...document.querySelectorAll("[role=status], [role=alert]")].map((e) => e.id + ": " + e.textContent).join("; ")`)
			b.T.Fatalf("never came: %s; the page says %q, the browser %q", expression, told, b.Said())
		}
	}
}

// Reload loads the page again.
func (b *Tab) Reload() {
	b.T.Helper()
	b.must(b.page.reload(b.ctx))
}
