// Package chromium drives a real browser in tests of pages. No program imports it.
//
// Most callers use [Open] in a test and [Stop] in TestMain. One browser runs for all tests of a
// package; each test is a separate person in it, with its own cookies and downloads.
//
// It is at the top of the layers, so that only tests can import it.
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

// Tab is a tab with one page, and the browser's complaints about it.
type Tab struct {
	T         testing.TB
	Downloads string // folder of the files downloaded from the page

	ctx        context.Context
	lock       sync.Mutex
	complaints []string // console messages, exceptions, refusals
	requests   []string // addresses requested
}

// Times are for two slow cores that others use too.
const (
	patience = 5 * time.Minute       // for one test
	wait     = time.Minute           // for one thing in a test
	look     = 20 * time.Millisecond // between checks
)

// Needed skips the test because a tool is missing, or fails it if TONEPLUMB_ORACLES is "required".
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

// tempDir is the system's temporary folder, read before a test can set another one that would be
// removed before the browser ends.
var tempDir = os.TempDir()

// Stop stops the browser, if it runs.
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

// Open opens an address as a new person, unknown to any page. It skips the test if there is no
// Chromium.
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
	// A new browser window may still change its size, which moves what is clicked.
	b.Do(chromedp.EmulateViewport(1280, 800), chromedp.Navigate(address), chromedp.WaitReady("main"))
	return b
}

// hear records the browser's events.
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

// words returns the text of objects of the page.
func words(objects ...*runtime.RemoteObject) string {
	var all []string
	for _, o := range objects {
		if o != nil {
			all = append(all, string(o.Value)+o.Description)
		}
	}
	return strings.Join(all, " ")
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

// Do runs actions.
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

// Eval runs a script, waits for its promise, and returns its value.
func Eval[V any](b *Tab, script string) V {
	b.T.Helper()
	value, err := chromedp.Run(b.ctx, chromedp.Evaluate[V](script, chromedp.EvalAwaitPromise))
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

// Press types keys.
func (b *Tab) Press(keys string) {
	b.T.Helper()
	b.Do(chromedp.KeyEvent(keys))
}

// drawn waits until the page was drawn twice.
const drawn = `(async () => { for (let i = 0; i < 2; i++) await new Promise((drawn) => requestAnimationFrame(drawn)); })()`

// Box scrolls an element into the middle of the window, waits until it is drawn there, and returns
// its left, top, width and height in CSS pixels. Without waiting, a click may miss it.
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

// Click clicks in the middle of an element. As a person would, it clicks again if the page moved and
// the click went elsewhere.
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
