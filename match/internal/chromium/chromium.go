// Package chromium drives a real browser for tests of pages, and for nothing else: no
// program imports it.
//
// The path most callers need: Open in a test, Stop in TestMain. One browser runs for all
// tests of a package; each test is another person in it, with cookies and downloads of its
// own.
//
// It stands at the top of the layers, so that only tests may import it.
package chromium

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"toneplumb/spectrum/quick"
)

// Tab is a tab with one page, and what the browser complained of.
type Tab struct {
	T         testing.TB
	Downloads string // the folder of files that the page hands out

	ctx        context.Context
	lock       sync.Mutex
	complaints []string // console messages, exceptions, refusals
	requests   []string // addresses asked for
}

// Two slow cores that others use too: so long may a test take, and one thing in it.
const (
	patience = 5 * time.Minute
	wait     = time.Minute
	look     = 20 * time.Millisecond // again
)

// Needed skips the test where a tool is missing, or fails it where they are required.
func Needed(t testing.TB, what string) {
	t.Helper()
	if os.Getenv("TONEPLUMB_ORACLES") == "required" {
		t.Fatalf("%s is needed for this check and is not there", what)
	}
	t.Skipf("%s is not there", what)
}

// running is the browser of all tests.
var running struct {
	sync.Mutex
	ctx  context.Context
	stop func()
}

// tempDir is the system's folder, not that of a test that has set another and is over
// before the browser is.
var tempDir = os.TempDir()

// Stop stops the browser.
func Stop() {
	if running.stop != nil {
		running.stop()
	}
}

func start(t testing.TB) context.Context {
	t.Helper()
	running.Lock()
	defer running.Unlock()
	if running.ctx != nil {
		return running.ctx
	}
	path, err := exec.LookPath("chromium")
	if err != nil {
		Needed(t, "chromium")
	}
	profile, err := os.MkdirTemp(tempDir, "chromium-")
	if err != nil {
		t.Fatal(err)
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.UserDataDir(profile), chromedp.Env("TMPDIR="+tempDir))
	allocator, stopAll := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, stop := chromedp.NewContext(allocator)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal(err)
	}
	running.ctx, running.stop = ctx, func() { stop(); stopAll(); os.RemoveAll(profile) }
	return ctx
}

// Open opens an address as somebody whom no page knows yet.
func Open(t testing.TB, address string) *Tab {
	t.Helper()
	quick.Skip(t, "drives a browser")
	return open(t, start(t), address, chromedp.WithNewBrowserContext())
}

// Beside opens an address in a second tab of the same person.
func (b *Tab) Beside(address string) *Tab {
	b.T.Helper()
	return open(b.T, b.ctx, address)
}

func open(t testing.TB, parent context.Context, address string, options ...chromedp.ContextOption) *Tab {
	t.Helper()
	ctx, stop := chromedp.NewContext(parent, options...)
	t.Cleanup(stop)
	b := &Tab{T: t, Downloads: t.TempDir()}
	if err := chromedp.Listen(ctx, b.hear); err != nil {
		t.Fatal(err)
	}
	if err := chromedp.Do(ctx); err != nil { // opens the tab
		t.Fatal(err)
	}
	b.ctx, stop = context.WithTimeout(ctx, patience)
	t.Cleanup(stop)
	Command(b, log.Enable, cdp.Empty{})
	Command(b, runtime.Enable, cdp.Empty{})
	Command(b, network.Enable, network.EnableParams{})
	Command(b, browser.SetDownloadBehavior, browser.SetDownloadBehaviorParams{Behavior: browser.SetDownloadBehaviorBehaviorAllow,
		DownloadPath: b.Downloads, BrowserContextID: chromedp.FromContext(ctx).BrowserContextID})
	// A new window of the browser may still grow and shrink, which moves what is clicked.
	b.Do(chromedp.EmulateViewport(1280, 800), chromedp.Navigate(address), chromedp.WaitReady("main"))
	return b
}

// hear notes what the browser tells.
func (b *Tab) hear(event any) {
	b.lock.Lock()
	defer b.lock.Unlock()
	switch e := event.(type) {
	case *runtime.EventConsoleAPICalled:
		b.complaints = append(b.complaints, fmt.Sprintf("console.%s: %s", e.Type, words(e.Args...)))
	case *runtime.EventExceptionThrown:
		d := e.ExceptionDetails
		b.complaints = append(b.complaints, fmt.Sprintf("exception: %s %s, line %d", d.Text, words(d.Exception), d.LineNumber))
	case *log.EventEntryAdded:
		b.complaints = append(b.complaints, fmt.Sprintf("%s: %s %s", e.Entry.Level, e.Entry.Text, e.Entry.URL))
	case *network.EventRequestWillBeSent:
		b.requests = append(b.requests, e.Request.URL[:min(80, len(e.Request.URL))])
	}
}

// words are what objects of the page say.
func words(objects ...*runtime.RemoteObject) string {
	var all []string
	for _, o := range objects {
		if o != nil {
			all = append(all, string(o.Value)+o.Description)
		}
	}
	return strings.Join(all, " ")
}

// Said is what the browser complained of.
func (b *Tab) Said() []string {
	b.lock.Lock()
	defer b.lock.Unlock()
	return append([]string{}, b.complaints...)
}

// Requests are the starts of the addresses that the page asked for.
func (b *Tab) Requests() []string {
	b.lock.Lock()
	defer b.lock.Unlock()
	return append([]string{}, b.requests...)
}

// Quiet checks that the browser had nothing to complain of but what was expected.
func (b *Tab) Quiet(but ...string) {
	b.T.Helper()
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

// Command sends the browser a command of its protocol.
func Command[P, R any](b *Tab, cmd cdp.Command[P, R], params P) {
	b.T.Helper()
	if _, err := chromedp.Call(b.ctx, cmd, params); err != nil {
		b.T.Fatal(err)
	}
}

// Do takes steps.
func (b *Tab) Do(steps ...chromedp.Action[chromedp.Void]) {
	b.T.Helper()
	if err := chromedp.Do(b.ctx, steps...); err != nil {
		b.T.Fatal(err)
	}
}

// Given runs an action and returns its value.
func Given[V any](b *Tab, action chromedp.Action[V]) V {
	b.T.Helper()
	value, err := chromedp.Run(b.ctx, action)
	if err != nil {
		b.T.Fatal(err)
	}
	return value
}

// Eval runs script and waits for its promise.
func Eval[V any](b *Tab, script string) V {
	b.T.Helper()
	value, err := chromedp.Run(b.ctx, chromedp.Evaluate[V](script, chromedp.EvalAwaitPromise))
	if err != nil {
		b.T.Fatalf("%v in %.300s", err, script)
	}
	return value
}

// Text is what an expression gives, as text.
func (b *Tab) Text(expression string) string {
	b.T.Helper()
	return Eval[string](b, "String("+expression+")")
}

// Want compares what an expression gives.
func (b *Tab) Want(what, expression, want string) {
	b.T.Helper()
	if got := b.Text(expression); got != want {
		b.T.Errorf("%s: %q, want %q", what, got, want)
	}
}

// Until waits for an expression to be true.
func (b *Tab) Until(expression string) {
	b.T.Helper()
	for end := time.Now().Add(wait); b.Text(expression) != "true"; time.Sleep(look) {
		if time.Now().After(end) {
			told := b.Text(`[...document.querySelectorAll("[role=status], [role=alert]")].map((e) => e.id + ": " + e.textContent).join("; ")`)
			b.T.Fatalf("never came: %s; the page says %q, the browser %q", expression, told, b.Said())
		}
	}
}

// Press types keys.
func (b *Tab) Press(keys string) {
	b.T.Helper()
	b.Do(chromedp.KeyEvent(keys))
}

// drawn waits until the page was drawn twice.
const drawn = `(async () => { for (let i = 0; i < 2; i++) await new Promise((drawn) => requestAnimationFrame(drawn)); })()`

// Box brings an element into the middle of the window, waits until it is drawn there,
// and returns its left, top, width and height: a pointer that comes sooner may miss it.
func (b *Tab) Box(selector string) []float64 {
	b.T.Helper()
	return Eval[[]float64](b, fmt.Sprintf(`(async () => {
		const element = document.querySelector(%q);
		element.scrollIntoView({ block: "center", behavior: "instant" });
		await %s;
		const r = element.getBoundingClientRect();
		return [r.left, r.top, r.width, r.height];
	})()`, selector, drawn))
}

// Click clicks in the middle of an element, as a hand does: one that sees the page move
// under it and the click go elsewhere clicks again.
func (b *Tab) Click(selector string) {
	b.T.Helper()
	for range 3 {
		b.Text(fmt.Sprintf(`(window.missed = true, document.querySelector(%q).addEventListener("click", () => { window.missed = false; }, { once: true, capture: true }))`, selector))
		box := b.Box(selector)
		b.Do(chromedp.MouseClickXY(box[0]+box[2]/2, box[1]+box[3]/2))
		missed, err := chromedp.Run(b.ctx, chromedp.Evaluate[bool](drawn+".then(() => window.missed === true)", chromedp.EvalAwaitPromise))
		if err != nil || !missed { // an error: the click led to another page
			return
		}
	}
	b.T.Fatalf("%s cannot be clicked", selector)
}
